"""What every hostile input is judged by."""

from __future__ import annotations

from dataclasses import dataclass, field

LONGEST_S = 10.0
MOST_MB = 500.0


@dataclass
class Verdict:
    """Counts what came of hostile inputs.

    Attributes
    ----------
    inputs : int
        How many were sent.
    tracebacks, hangs, large, taken : list of str
        Names of those that ended in a traceback, took more than ten seconds, needed more than
        500 MB, or were taken as if nothing were wrong.
    most_mb, longest_s : float
        The most memory and time that one of them took.
    """

    inputs: int = 0
    tracebacks: list[str] = field(default_factory=list)
    hangs: list[str] = field(default_factory=list)
    large: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    most_mb: float = 0.0
    longest_s: float = 0.0

    def add(self, name: str, said: str, seconds: float, megabytes: float, *, refused: bool) -> None:
        self.inputs += 1
        self.most_mb = max(self.most_mb, megabytes)
        self.longest_s = max(self.longest_s, seconds)
        for bad, names in (
            ("Traceback" in said or "unforeseen mistake" in said, self.tracebacks),
            (seconds > LONGEST_S, self.hangs),
            (megabytes > MOST_MB, self.large),
            (not refused, self.taken),
        ):
            if bad:
                names.append(name)
                print(f"  {name}: {said[-600:]}", flush=True)

    def figures(self) -> dict[str, object]:
        return {
            "inputs": self.inputs,
            "tracebacks": len(self.tracebacks),
            "hangs": len(self.hangs),
            "too large": len(self.large),
            "taken": len(self.taken),
            "longest s": round(self.longest_s, 1),
            "most MB": round(self.most_mb),
        }
