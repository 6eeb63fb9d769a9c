"""Checkpoints of long journals, kept in this process for the households that were heard from last."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace

from bot.assistant.scene import Scene
from domain.checkpoints import Checkpoint, checkpoint

__all__ = ["FoldMemory"]

KEPT_HOUSEHOLDS = 64
"""Of so many long journals a checkpoint is kept; about 8 MB each for 20,000 entries (measured)."""


class FoldMemory:
    """Nothing is true only here: whatever it loses is folded anew."""

    def __init__(self, kept: int = KEPT_HOUSEHOLDS) -> None:
        self._kept = kept
        self._checkpoints: OrderedDict[int, Checkpoint] = OrderedDict()

    def with_checkpoint(self, scene: Scene) -> Scene:
        """The scene with where to start folding its journal, if that is long.

        scene : as it was opened, with what is committed and nothing else.
        """
        before = self._checkpoints.pop(scene.household_id, None)
        known = checkpoint(scene.trusted, before)
        if known is None:
            return scene
        self._checkpoints[scene.household_id] = known
        if len(self._checkpoints) > self._kept:
            self._checkpoints.popitem(last=False)
        return replace(scene, checkpoint=known)
