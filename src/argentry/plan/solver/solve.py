"""The order of the day, proved: OR-Tools CP-SAT on a grid of whole minutes.

Exposure and development end by table: end = table[start], where the table is the inverse of the
running sum of light plus the dose. Starts one after the other that last as long make a stretch, one
variable each: a tenth of the variables that an element constraint makes, one for every minute.
Everything else has a fixed length.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.plan.solver import cp_sat
from argentry.plan.solver.bound import plain_bound
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block, frame_span, rooms

if TYPE_CHECKING:
    from argentry.arrays import Whole
    from argentry.plan.problem import DayProblem
    from argentry.plan.shop import DayRun


WAITING = 5  # a minute that a sitter waits counts as so many of a coat


@dataclass(frozen=True)
class Solution:
    """What the solver found.

    Attributes
    ----------
    status : str
        ``"optimal"``, ``"feasible"``, ``"impossible"`` or ``"unknown"``.
    starts, ends : Whole, shape (plates, blocks)
        Empty when nothing was found. [min]
    frame_kind : Whole, shape (plates,)
        Kind of frame of each plate.
    finish, bound : float
        End of the last plate, and the earliest any plan could reach. [min]
    first_seconds, seconds : float
        Time to the first plan and in all. [s]
    """

    status: str
    starts: Whole
    ends: Whole
    frame_kind: Whole
    finish: float
    bound: float
    first_seconds: float
    seconds: float

    @property
    def found(self) -> bool:
        """True when there is a plan."""
        return self.status in ("optimal", "feasible")


@dataclass(frozen=True)
class _Table:
    """A start whose length depends on it, as variables: `size`, and one of `stretches` holds.

    `first` and `lengths` are the stretches' first starts and how long each of their starts lasts.
    """

    start: Any
    end: Any
    size: Any
    stretches: list[Any]
    first: Whole
    lengths: Whole


class _Model:
    """The model while it is built."""

    def __init__(self, problem: DayProblem) -> None:
        self.problem = problem
        self.cp = cp_sat.load()
        self.model: Any = self.cp.CpModel()
        self.hands: list[tuple[Any, int]] = []
        every = tuple(b for plate in range(problem.plates) for b in problem.route(plate))
        self.rooms: dict[str, list[Any]] = {name: [] for name in rooms(every)}
        self.frames: list[list[Any]] = [[] for _ in problem.frame_counts]
        self.starts: list[list[Any]] = []
        self.ends: list[list[Any]] = []
        self.kinds: list[list[Any]] = []
        # lengths are variables of their own to the solver: (variable, plate, from, to), where from
        # and to name a start or end by block, so that a hint can be complete
        self.lengths: list[tuple[Any, int, tuple[str, int], tuple[str, int]]] = []
        self.tables: list[tuple[_Table, int, int]] = []  # with the plate and the block

    def _by_table(self, table: Whole, name: str, only_if: Any = None) -> _Table:
        """Return start and end with end = table[start], over the starts that have one."""
        problem, model = self.problem, self.model
        can = np.flatnonzero((table >= 0) & (table <= problem.last_minute))
        can = can[(can >= problem.first_minute) & (can <= problem.last_minute)]
        if not can.size:  # no start will do: the model is impossible
            can, table = np.array([0]), np.array([0])
            if only_if is None:
                model.add_bool_or([])
            else:
                model.add(only_if == 0)
        ends = table[can]
        new = np.flatnonzero((np.diff(ends - can) != 0) | (np.diff(can) != 1)) + 1
        at = np.concatenate([[0], new])
        first, last, lengths = can[at], can[np.append(new, can.size) - 1], (ends - can)[at]
        values = self.cp.Domain.from_values
        start = model.new_int_var_from_domain(values(can.tolist()), f"{name}_start")
        size = model.new_int_var_from_domain(values(lengths.tolist()), f"{name}_size")
        end = model.new_int_var(int(ends.min()), int(ends.max()), f"{name}_end")
        model.add(end == start + size)
        stretches = [model.new_bool_var(f"{name}_{minute}") for minute in first]
        model.add_exactly_one(stretches)
        for one, low, high, length in zip(stretches, first, last, lengths, strict=True):
            model.add_linear_constraint(start, int(low), int(high)).only_enforce_if(one)
            model.add(size == int(length)).only_enforce_if(one)
        return _Table(start, end, size, stretches, first, lengths)

    def _plate(self, plate: int) -> None:
        problem, model = self.problem, self.model
        starts: list[Any] = []
        ends: list[Any] = []
        kinds: list[Any] = [model.new_constant(1)]
        blocks = problem.route(plate)
        for index, block in enumerate(blocks):
            name = f"p{plate}_{block.tasks[0].key}"
            if block.kind == EXPOSURE:
                pose = self._by_table(problem.exposures(plate), name)
                self.tables.append((pose, plate, index))
                start, end = pose.start, pose.end
                interval = model.new_interval_var(start, pose.size, end, name)
            elif block.kind == DEVELOPMENT:
                start, end, kinds = self._development(plate, index, name)
                interval = None
            else:
                size = block.whole_minutes
                start = model.new_int_var(
                    problem.first_minute, max(problem.last_minute - size, 0), f"{name}_start"
                )
                end = start + size
                interval = model.new_fixed_size_interval_var(start, size, name)
            if block.attended:
                self.hands.append((interval, 1))
            self._rooms(block, start, interval, name)
            if starts:
                model.add(start >= ends[-1])
                if not block.attended:  # a wait begins by itself
                    model.add(start == ends[-1])
                elif block.within is not None:
                    model.add(start <= ends[-1] + int(block.within))
            starts.append(start)
            ends.append(end)
        if problem.frame_counts:
            self._frame(plate, starts, kinds)
        self.starts.append(starts)
        self.ends.append(ends)
        self.kinds.append(kinds)

    def _frame(self, plate: int, starts: list[Any], kinds: list[Any]) -> None:
        problem, model = self.problem, self.model
        take, free = frame_span(problem.route(plate))
        for kind, chosen in enumerate(kinds):
            out, back = starts[take], starts[free]
            size = model.new_int_var(0, problem.last_minute, f"p{plate}_frame{kind}")
            if len(kinds) == 1:
                self.lengths.append((size, plate, ("start", take), ("start", free)))
            self.frames[kind].append(
                model.new_optional_interval_var(out, size, back, chosen, f"p{plate}_in{kind}")
            )

    def _development(self, plate: int, index: int, name: str) -> tuple[Any, Any, list[Any]]:
        """Return (start, end, chosen kind literals) of a development in any kind of frame."""
        tables = self.problem.ripe
        if len(tables) == 1:
            only = self._by_table(tables[0], name)
            self.tables.append((only, plate, index))
            return only.start, only.end, [self.model.new_constant(1)]
        problem, model = self.problem, self.model
        start = model.new_int_var(problem.first_minute, problem.last_minute, f"{name}_start")
        end = model.new_int_var(problem.first_minute, problem.last_minute, f"{name}_end")
        chosen = [model.new_bool_var(f"{name}_kind{k}") for k in range(len(tables))]
        model.add_exactly_one(chosen)
        for kind, table in enumerate(tables):
            one = self._by_table(table, f"{name}_{kind}", chosen[kind])
            model.add(start == one.start).only_enforce_if(chosen[kind])
            model.add(end == one.end).only_enforce_if(chosen[kind])
        return start, end, chosen

    def _rooms(self, block: Block, start: Any, interval: Any, name: str) -> None:
        for room, intervals in self.rooms.items():
            span = block.holds(room)
            if span is None:
                continue
            if block.kind == EXPOSURE:
                intervals.append(interval)
                continue
            low, high = int(np.floor(span[0])), int(np.ceil(span[0] + span[1]))
            intervals.append(
                self.model.new_fixed_size_interval_var(start + low, high - low, f"{name}_{room}")
            )

    def build(self) -> Any:
        """Build the model; return the variable to be made small."""
        problem, model = self.problem, self.model
        for plate in range(problem.plates):
            self._plate(plate)
        for low, high in problem.breaks:
            self.hands.append(
                (model.new_fixed_size_interval_var(low, high - low, "break"), problem.workers)
            )
        intervals = [interval for interval, _ in self.hands]
        if problem.workers == 1:
            model.add_no_overlap(intervals)
        else:
            model.add_cumulative(intervals, [need for _, need in self.hands], problem.workers)
        for room, intervals in self.rooms.items():
            count = problem.room_counts.get(room, 1)
            if count == 1:
                model.add_no_overlap(intervals)
            else:
                model.add_cumulative(intervals, [1] * len(intervals), count)
        for kind, count in enumerate(problem.frame_counts):
            model.add_cumulative(self.frames[kind], [1] * problem.plates, count)
        # Plates are alike, so their order may be fixed. Sorting every block's starts keeps all
        # limits (they are the same for every plate) unless two kinds of frame tell plates apart.
        ordered = range(len(problem.blocks)) if len(problem.frame_counts) == 1 else range(1)
        for before, plate in (pair for group in problem.alike() for pair in pairwise(group)):
            for block in ordered:
                model.add(self.starts[plate][block] >= self.starts[before][block])
        finish = model.new_int_var(problem.first_minute, problem.last_minute, "finish")
        for ends in self.ends:
            model.add(finish >= ends[-1])
        return finish

    def waits(self) -> list[Any]:
        """Return the waits before blocks that have a keeping limit, the longest ones counted more.

        The square of a wait would be fairer; its two slopes are what the solver takes easily.
        """
        terms: list[Any] = []
        for plate, (starts, ends) in enumerate(zip(self.starts, self.ends, strict=True)):
            for index, block in enumerate(self.problem.route(plate)):
                if index == 0 or block.within is None or not block.attended:
                    continue
                wait = starts[index] - ends[index - 1]
                long = self.model.new_int_var(0, self.problem.last_minute, f"p{plate}_{index}_long")
                self.model.add(long >= wait - int(block.within) // 3)
                terms += [wait, 3 * long]
        for plate, comes in enumerate(self.problem.appointments):
            if not np.isnan(comes):
                route = self.problem.route(plate)
                pose = next(i for i, block in enumerate(route) if block.kind == EXPOSURE)
                terms.append(WAITING * (self.starts[plate][pose] - int(comes)))
        return terms

    def hint(self, run: DayRun, finish: Any) -> None:
        """Offer a simulated day as the first plan, every variable of it."""
        order = np.arange(self.problem.plates)
        starts, ends = run.starts.copy(), run.ends.copy()
        alike = len(self.problem.frame_counts) == 1
        for group in self.problem.alike():
            order[group] = group[np.argsort(run.starts[group, 0])]
            if alike:  # they may be renamed block by block, which is the order the model asks for
                starts[group], ends[group] = (np.sort(t[group], axis=0) for t in (starts, ends))
            else:
                starts[group], ends[group] = run.starts[order[group]], run.ends[order[group]]
        if not (np.isfinite(starts).all() and np.isfinite(ends).all()):
            return
        for plate in range(self.problem.plates):
            for block, one in enumerate(self.problem.route(plate)):
                if one.kind not in (EXPOSURE, DEVELOPMENT):  # begun when no room keeps it waiting
                    starts[plate, block] = ends[plate, block] - one.whole_minutes
        at = {"start": np.rint(starts).astype(int), "end": np.rint(ends).astype(int)}
        for plate, row in enumerate(self.starts):
            for block, variable in enumerate(row):
                self.model.add_hint(variable, int(at["start"][plate, block]))
                if self.problem.route(plate)[block].kind in (EXPOSURE, DEVELOPMENT):
                    self.model.add_hint(self.ends[plate][block], int(at["end"][plate, block]))
            if not alike:
                kind = int(run.frame_kind[order[plate]])
                for k, literal in enumerate(self.kinds[plate]):
                    self.model.add_hint(literal, int(k == kind))
        for variable, plate, (low, i), (high, j) in self.lengths:
            self.model.add_hint(variable, int(at[high][plate, j] - at[low][plate, i]))
        for table, plate, block in self.tables:
            held = int(np.searchsorted(table.first, at["start"][plate, block], side="right")) - 1
            self.model.add_hint(table.size, int(table.lengths[held]))
            for number, stretch in enumerate(table.stretches):
                self.model.add_hint(stretch, int(number == held))
        self.model.add_hint(finish, int(ends[:, -1].max()))


def solve(
    problem: DayProblem,
    *,
    effort: float,
    hint: DayRun | None = None,
    any_plan: bool = False,
    fresh_by: int | None = None,
    low: float | None = None,
    near: float = 0.0,
    seed: int = 1,
    relaxed: bool = True,
    by_order: bool = False,
) -> Solution:
    """Order a day so that the last plate is done as early as can be.

    Parameters
    ----------
    problem : DayProblem
        The day.
    effort : float
        Longest search in the solver's own deterministic units, near a second each on a machine
        of 2026: the same day gives the same plan on every machine. [1]
    hint : DayRun or None
        A day to start from.
    any_plan : bool
        True asks only whether there is a plan at all and takes the first.
    fresh_by : int or None
        Instead of an early end, as little waiting of coats and latent images as can be in a day
        that ends by this minute. [min]
    low : float or None
        A minute before which no plan can end; None: as in `plain_bound`. [min]
    near : float
        An end so near to the solver's bound is taken. [min]
    seed : int
        Of the search.
    relaxed : bool
        False does without the solver's own linear relaxation: many plates are ordered sooner.
    by_order : bool
        True decides which of two steps in a room comes first rather than when one begins.

    Returns
    -------
    Solution
        The best plan with its bound; or the word that there is none, or that none was found.
    """
    began = time.perf_counter()
    builder = _Model(problem)
    finish = builder.build()
    # also when any plan will do: wishing for an early end leads to one sooner
    builder.model.add(finish >= int(plain_bound(problem) if low is None else low))
    builder.model.minimize(finish if fresh_by is None else sum(builder.waits()))
    if fresh_by is not None:
        builder.model.add(finish <= fresh_by)
    if hint is not None:
        builder.hint(hint, finish)
    cp = builder.cp
    solver: Any = cp.CpSolver()
    solver.parameters.max_deterministic_time = effort
    solver.parameters.num_workers = 1  # several threads give another, equally good plan each time
    solver.parameters.random_seed = seed
    solver.parameters.absolute_gap_limit = near
    solver.parameters.use_dynamic_precedence_in_disjunctive = by_order
    solver.parameters.catch_sigint_signal = False  # Ctrl-C ends the command, not only a search
    if not relaxed:
        solver.parameters.linearization_level = 0
    # the tables make wide domains: simplifying them more than once, and again between restarts,
    # costs half of the time and saves nothing at this size
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.inprocessing_probing_dtime = 0.0
    solver.parameters.inprocessing_minimization_dtime = 0.0
    solver.parameters.symmetry_level = 0
    solver.parameters.stop_after_first_solution = any_plan
    first: list[float] = []

    class _First(cp.CpSolverSolutionCallback):  # type: ignore[misc, name-defined]
        def on_solution_callback(self) -> None:
            if not first:
                first.append(time.perf_counter() - began)

    status = solver.solve(builder.model, _First())
    took = time.perf_counter() - began
    words = {cp.OPTIMAL: "optimal", cp.FEASIBLE: "feasible", cp.INFEASIBLE: "impossible"}
    word = words.get(status, "unknown")
    if word not in ("optimal", "feasible"):
        empty, no = np.empty((0, 0), dtype=np.int64), float("nan")
        return Solution(word, empty, empty, np.empty(0, dtype=np.int64), no, no, took, took)
    starts = np.array([[int(solver.value(v)) for v in row] for row in builder.starts])
    ends = np.array([[int(solver.value(v)) for v in row] for row in builder.ends])
    kinds = np.array(
        [[int(solver.value(v)) for v in row].index(1) for row in builder.kinds], dtype=np.int64
    )
    return Solution(
        word,
        starts,
        ends,
        kinds,
        float(ends[:, -1].max()),
        float(solver.best_objective_bound) if fresh_by is None else float("nan"),
        first[0] if first else took,
        took,
    )
