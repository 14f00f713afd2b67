"""Drawing, for page and paper alike: SVG as text, in the vendored face."""
