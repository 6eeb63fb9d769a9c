"""What to add, how much first, in which order, and why: see ``planner`` for the way from a reading to a
plan."""

from domain.dosing.planner import Direction, plan
from domain.dosing.questions import question_plan, what_if
from domain.dosing.shapes import (
    Action,
    Aim,
    Assumption,
    Basis,
    Hold,
    Input,
    Moves,
    Outcome,
    Plan,
    Predicted,
    Span,
    Step,
)
from domain.dosing.strength import stands_low

__all__ = [
    "Action",
    "Aim",
    "Assumption",
    "Basis",
    "Direction",
    "Hold",
    "Input",
    "Moves",
    "Outcome",
    "Plan",
    "Predicted",
    "Span",
    "Step",
    "plan",
    "question_plan",
    "stands_low",
    "what_if",
]
