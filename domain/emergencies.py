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
    lines : short imperative sentences, the most urgent first.
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
                "Eye or skin: rinse under running water, 15 to 20 minutes.",
                "Collapsed or trouble breathing: emergency number first.",
                "Swallowed: nothing by mouth until told; no vomiting.",
                "Breathed in: out to fresh air, and do not go back.",
            ),
            "poison_centre",
            "HRSA Poison Help (15 to 20 minutes, emergency first); Missouri Poison Center, First aid (by "
            "mouth, fresh air)",
        ),
        "exposure_electric": Advice(
            "exposure_electric",
            (
                "Power off at the breaker. Touch no person or water before.",
                "Fire, or no dry way to the breaker: get out, then call.",
                "After any shock see a doctor, even when you feel well.",
                "Later: leave it off until a licensed electrician has seen it.",
            ),
            "emergency",
            "MidAmerican Energy, Electric shock (touch nobody, breaker, call); City of Marshall, Electrical "
            "emergencies (see a doctor); fire and electrician: from memory",
        ),
        "exposure_gas": Advice(
            "exposure_gas",
            (
                "Leave the room now, everybody out to fresh air.",
                "Leave the door open behind you. Do not go back in.",
                "Pour nothing on it: do not neutralise.",
                "Eyes or skin sting: rinse with running water outside it.",
            ),
            "poison_centre",
            "Missouri Poison Center, First aid (fresh air, doors open); NJPIES, Chlorine (acid on bleach); "
            "not going back and not neutralising: from memory",
        ),
        "exposure_swallowed": Advice(
            "exposure_swallowed",
            (
                "Call at once. Nothing by mouth until they tell you.",
                "Collapsed or trouble breathing: emergency number first.",
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
                "Rinse under running water now, 15 to 20 minutes.",
                "Lenses and wet clothing off while you rinse.",
                "Call even without pain: an alkali burn may hurt late.",
                "Do not neutralise. Keep the bottle's label at hand.",
            ),
            "poison_centre",
            "HRSA Poison Help (15 to 20 minutes); Earlham College (late pain); University of Iowa EHS; not "
            "neutralising: from memory",
        ),
        "exposure_pet": Advice(
            "exposure_pet",
            (
                "Call your vet or an animal poison line now.",
                "Do not make it vomit. Give nothing unless they say so.",
                "On fur, paws or in an eye: rinse with running water.",
                "Keep it from licking itself, and the label at hand.",
            ),
            "nobody",
            "Birchbark Foundation, Household risks (vet first, caustics and vomiting); rinsing and licking: "
            "from memory",
        ),
        "spill": Advice(
            "spill",
            (
                "Keep people and pets away; open a window.",
                "Strong or more than a cup: leave, follow the label, call your local service.",
                "Small and dilute: gloves and goggles, soak up, rinse with much water.",
                "Never pour bleach or the other adjuster on it.",
                "Near a plug: power off at the breaker first.",
            ),
            "poison_centre",
            "from memory (EPA and local guidance)",
        ),
        "overdose": Advice(
            "overdose",
            (
                "Add nothing to cancel it, least of all the other adjuster neat.",
                "Keep the pump running. Test now and send the pH.",
                "Under 5 or over 7.5: drain half, refill with plain water, test again in 30 minutes.",
                "Between: test again in 30 minutes before you do anything.",
                "Splashed or swallowed some? Say so, or call your poison centre.",
            ),
            "nobody",
            "University of Iowa EHS (acid and base never neat together); the rest: common practice",
            reckoned_at=(2, 4),
        ),
        "leak": Advice(
            "leak",
            (
                "Water near plugs: power off at the breaker before you touch anything.",
                "Stop the leak, mop up, keep children and pets away.",
                "Pump out of the water? Unplug it: it must not run dry.",
                "Keep roots wet with tank water until it runs again.",
                "Then top up, test, and send level, pH and strength.",
            ),
            "nobody",
            "from memory; home-safety guidance for the electrician; the rest: common practice",
            reckoned_at=(4, 4),
        ),
        "pump_stopped": Advice(
            "pump_stopped",
            (
                "Roots in air or a thin film: wet them with tank water now, then every 15 to 30 minutes.",
                "They dry out within 1 to 3 hours, sooner in heat. Roots in deep water last about a day.",
                "Unplug before hands go in. Then look at the plug, the timer, and roots in the inlet.",
                "Trips or tingles: leave it off, call a licensed electrician.",
                "Once it runs, test the water and send it.",
            ),
            "nobody",
            "common practice",
            reckoned_at=(1, 2),
        ),
        "power_cut": Advice(
            "power_cut",
            (
                "Roots in air or a thin film: wet them with tank water now, then every 15 to 30 minutes.",
                "They dry out within 1 to 3 hours, sooner in heat. Roots in deep water last about a day.",
                "Shade the plants and keep the lid on; stir deep water now and then for air.",
                "When it is back: check pump, timer and heater, then test the water.",
            ),
            "nobody",
            "common practice",
            reckoned_at=(1, 2),
        ),
    }
)
"""What to do when somebody or something is in danger, by what happened. An exposure of which nothing more is
known is ``exposure``; those of a known kind begin with ``exposure_``."""
