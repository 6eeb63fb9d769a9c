"""What to do at once when somebody or the tank is in danger, in words short enough for a phone held in haste.

The first line is the one thing to do first. Wording is ours; a label, a poison centre, a doctor, a vet or a
licensed trade always overrides it. Home treatment stops at rinsing and fresh air.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

__all__ = ["EMERGENCY", "Advice", "Call"]

Call = Literal["nobody", "poison_centre", "emergency"]
"""Whose number belongs beside the advice: a poison centre's with the emergency number, or that one alone."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do at once, in order.

    code : what it is about, for the renderer.
    lines : short orders, the most urgent first, each on a line of a phone; with the one that says who to call
        they are seven at most.
    call : whose number belongs beside it, in the second line.
    reckoned_at : which of the lines give way to what is reckoned for the tank at hand, as first and beyond
        the last; ``None`` where nothing is reckoned.
    """

    code: str
    lines: tuple[str, ...]
    call: Call
    source: str
    reckoned_at: tuple[int, int] | None = None


EMERGENCY: Mapping[str, Advice] = MappingProxyType(
    {
        "exposure": Advice(
            "exposure",
            (
                "Eye or skin: rinse 15 to 20 minutes at a tap.",
                "Collapsed or gasping: emergency number first.",
                "Swallowed: nothing by mouth, no vomiting.",
                "Breathed in: fresh air, and do not go back.",
            ),
            "poison_centre",
            "HRSA Poison Help (15 to 20 minutes, emergency first); Missouri Poison Center, First aid (by "
            "mouth, fresh air)",
        ),
        "exposure_electric": Advice(
            "exposure_electric",
            (
                "Power off at the breaker. No dry way: get out.",
                "Touch no person or water yet. Fire: get out.",
                "After any shock see a doctor, even if well.",
                "Off until a licensed electrician has seen it.",
            ),
            "emergency",
            "MidAmerican Energy, Electric shock (touch nobody, breaker, call); City of Marshall, Electrical "
            "emergencies (see a doctor); fire and electrician: from memory",
        ),
        "exposure_gas": Advice(
            "exposure_gas",
            (
                "Leave the room now, all of you, to fresh air.",
                "Leave the door open. Do not go back in.",
                "Pour nothing on it: do not neutralise.",
                "Eyes or skin sting: rinse, in another room.",
            ),
            "poison_centre",
            "Missouri Poison Center, First aid (fresh air, doors open); NJPIES, Chlorine (acid on bleach); "
            "not going back and not neutralising: from memory",
        ),
        "exposure_swallowed": Advice(
            "exposure_swallowed",
            (
                "Call at once. Nothing by mouth until told to.",
                "Collapsed or gasping: emergency number first.",
                "Do not bring on vomiting.",
                "Keep the bottle's label at hand for the call.",
            ),
            "poison_centre",
            "HRSA Poison Help (emergency first); Missouri Poison Center, First aid (nothing by mouth until "
            "the call); sources differ on sips of water, so call first; California "
            "Poison Control (no vomiting)",
        ),
        "exposure_eye_skin": Advice(
            "exposure_eye_skin",
            (
                "Rinse under running water now 15 to 20 minutes",
                "Lenses and wet clothing off while you rinse.",
                "Call even without pain: alkali may hurt late.",
                "Do not neutralise. Keep the label at hand.",
            ),
            "poison_centre",
            "HRSA Poison Help (15 to 20 minutes); Earlham College (late pain); University of Iowa EHS; not "
            "neutralising: from memory",
        ),
        "exposure_pet": Advice(
            "exposure_pet",
            (
                "Call your vet or an animal poison line now.",
                "Do not make it vomit; give only what they say.",
                "On fur or paws, in an eye: rinse, running tap.",
                "Keep it from licking, and the label at hand.",
            ),
            "nobody",
            "Birchbark Foundation, Household risks (vet first, caustics and vomiting); rinsing and licking: "
            "from memory",
        ),
        "caution_mix": Advice(
            "caution_mix",
            (
                "Never mix adjusters, bleach or cleaners.",
                "Bleach with acid gives off chlorine gas;",
                "pH up with pH down can boil and spit.",
                "One bottle at a time: dose, wait, test.",
                "Mixed already? Leave the room first.",
                "All cautions: /safety",
            ),
            "nobody",
            "NJPIES, Chlorine (acid on bleach); University of Iowa EHS (acid and base never neat together); "
            "one bottle at a time: common practice",
        ),
        "caution_bleach": Advice(
            "caution_bleach",
            (
                "No pH down now: on bleach it makes toxic gas.",
                "Open a window. Smell or cough: leave the room.",
                "In the tank: drain it all, rinse it well,",
                "refill with plain water. Bleach burns roots.",
                "All cautions: /safety",
            ),
            "nobody",
            "NJPIES, Chlorine (acid on bleach); Missouri Poison Center, First aid (fresh air); draining and "
            "roots: common practice",
        ),
        "caution_number": Advice(
            "caution_number",
            (
                "Is somebody hurt? I cannot call for you.",
                "Eye or skin: rinse 15 to 20 minutes at a tap.",
                "Swallowed: nothing by mouth, no vomiting.",
                "Breathed in: fresh air, and do not go back.",
            ),
            "emergency",
            "HRSA Poison Help (15 to 20 minutes); Missouri Poison Center, First aid (by mouth, fresh air)",
        ),
        "spill": Advice(
            "spill",
            (
                "Keep people and pets away; open a window.",
                "Strong or over a cup: leave, follow the label,",
                "call your local service.",
                "Small, dilute: gloves, goggles, mop, rinse.",
                "Never pour bleach or the other adjuster on it.",
                "Near a plug: power off at the breaker first.",
            ),
            "poison_centre",
            "from memory (EPA and local guidance)",
        ),
        "overdose": Advice(
            "overdose",
            (
                "Add nothing to cancel it: no other adjuster.",
                "Keep the pump running. Test now, send the pH.",
                "Under 5 or over 7.5: drain half, refill with",
                "plain water. Either way test again in 30 min.",
                "Splashed or swallowed some? Say so at once.",
            ),
            "nobody",
            "University of Iowa EHS (acid and base never neat together); the rest: common practice",
            reckoned_at=(2, 4),
        ),
        "leak": Advice(
            "leak",
            (
                "Plugs wet? First power off at the breaker.",
                "Stop it, mop up; keep children and pets away.",
                "Pump out of the water? Unplug it.",
                "Keep roots wet with tank water meanwhile.",
                "Then top up, test, send level, pH, strength.",
            ),
            "nobody",
            "from memory; home-safety guidance for the electrician; the rest: common practice",
            reckoned_at=(4, 4),
        ),
        "pump_stopped": Advice(
            "pump_stopped",
            (
                "Wet bare roots now, again every 15–30 min.",
                "They dry out in 1 to 3 hours, sooner in heat;",
                "in deep water they last about a day.",
                "Unplug before hands go in.",
                "Check plug, timer, and roots in the inlet.",
                "Trips or tingles: off; licensed electrician.",
                "Once it runs, test the water and send it.",
            ),
            "nobody",
            "common practice",
            reckoned_at=(1, 3),
        ),
        "power_cut": Advice(
            "power_cut",
            (
                "Wet bare roots now, again every 15–30 min.",
                "They dry out in 1 to 3 hours, sooner in heat;",
                "in deep water they last about a day.",
                "Shade the plants, keep the lid on.",
                "Stir deep water now and then for air.",
                "Back on: check pump, timer, heater; then test.",
            ),
            "nobody",
            "common practice",
            reckoned_at=(1, 3),
        ),
    }
)
"""What to do when somebody or something is in danger, by what happened. An exposure of which nothing more is
known is ``exposure``; those of a known kind begin with ``exposure_``. What must be said before anything has
happened begins with ``caution_``."""
