"""What stands on the household's sites, and which of it a fact means.

What cannot be told apart is not chosen from: a fact that could mean more than one sowing is a mismatch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from domain.crops import crop_names
from domain.facts import Fact
from domain.plots import ConflictCode, Plot, labels

__all__ = ["Ground", "Mismatch", "canonical"]


class Mismatch(Exception):
    """A fact does not fit; carries what to report."""

    def __init__(self, code: ConflictCode, candidates: Iterable[Plot] = ()) -> None:
        super().__init__(code)
        self.code: ConflictCode = code
        self.candidates = tuple(candidates)


def canonical(crop: str | None) -> str | None:
    """A crop's canonical name, or the household's own word for one that is not in the table."""
    return None if crop is None else crop_names().get(crop.lower(), crop)


@dataclass
class Ground:
    """The plots so far.

    What stands is kept apart from what has ended: a fact looks through the plants of today, not of all years.
    last_crop_at : by site, what was last sown or moved there.
    """

    plots: list[Plot] = field(default_factory=list)
    ended: list[Plot] = field(default_factory=list)
    last_crop_at: dict[str, str] = field(default_factory=dict)

    def copy(self) -> Ground:
        return Ground(list(self.plots), list(self.ended), dict(self.last_crop_at))

    def standing(self, tank: str | None) -> list[Plot]:
        """What stands on a tank, and what nobody gave to any tank by name."""
        if tank is None:
            return self.plots
        return [plot for plot in self.plots if plot.tank in (None, tank)]

    def at(self, site: str, tank: str | None) -> list[Plot]:
        """What stands at a site, or at any site of a row (``B*``)."""
        standing = self.standing(tank)
        if site.endswith("*"):
            return [plot for plot in standing if plot.is_at(site)]
        return [plot for plot in standing if plot.site == site]

    def meant(
        self,
        fact: Fact,
        crop: str | None,
        sites: Sequence[str] | None,
        fits: Callable[[Plot], bool] = lambda plot: True,
    ) -> list[Plot]:
        """The plots that a fact is about; with sites, those there; without, those of one single sowing."""
        crop = canonical(crop)
        if sites:
            found = [plot for site in labels(sites) for plot in self._at_one(site, fact.tank, crop)]
            return list({id(plot): plot for plot in found}.values())
        found = [plot for plot in self.standing(fact.tank) if crop in (None, plot.crop)]
        if not found:
            raise Mismatch("no_such_crop")
        found = [plot for plot in found if fits(plot)] or found
        if len({plot.entry_id for plot in found}) > 1:
            raise Mismatch("which_one", found)
        return found

    def at_any(self, sites: Sequence[str], tank: str | None) -> list[Plot]:
        """What stands at any of some sites, each plot once, also where a row and a site of it are named."""
        return list({id(plot): plot for site in sites for plot in self.at(site, tank)}.values())

    def _at_one(self, site: str, tank: str | None, crop: str | None) -> list[Plot]:
        there = self.at(site, tank)
        if of_crop := [plot for plot in there if crop in (None, plot.crop)]:
            return of_crop
        raise Mismatch("other_crop" if there else "nothing_there", there)

    def change(self, plot: Plot, *into: Plot) -> None:
        """Puts what became of a plot in its place."""
        place = next(place for place, each in enumerate(self.plots) if each is plot)
        self.plots[place : place + 1] = [each for each in into if each.stands]
        self.ended += [each for each in into if not each.stands]
        self._note_sites(into)

    def add(self, plot: Plot) -> None:
        self.plots.append(plot)
        self._note_sites([plot])

    def _note_sites(self, plots: Iterable[Plot]) -> None:
        self.last_crop_at |= {plot.site: plot.crop for plot in plots if plot.site}
