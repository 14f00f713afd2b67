// The look: four levels of red, or paper. The level is remembered; paper never is.

export const DIMS = ["full", "half", "low", "least"];

/** A small choice kept on this device: a whole number below `many`, else 0. */
export function remembered(name, many) {
  const value = Number(localStorage.getItem(name) ?? 0);
  return Number.isInteger(value) && value >= 0 && value < many ? value : 0;
}

export function applyLook({ paper, dim }) {
  const root = document.documentElement;
  root.classList.toggle("paper", paper);
  root.classList.toggle("red", !paper);
  DIMS.forEach((_, level) => root.classList.toggle(`dim-${level}`, !paper && level === dim));
  document.querySelector("meta[name=theme-color]").content = paper ? "#f7f3e9" : "#000000";
}

/** Without its look the page would show the browser's own grey targets: then words only. */
export function looksRight() {
  return getComputedStyle(document.documentElement).getPropertyValue("--ground") !== "";
}
