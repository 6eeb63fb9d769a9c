"""Who to call, country by country, as the pages print it; the page is named beside each number."""

from __future__ import annotations

import pytest

from domain.safety import poison_centre
from domain.sources import sources

PRINTED = [
    # zone, poison centre, emergency number, and where the former is printed
    ("America/Chicago", "1-800-222-1222", "911", "poisonhelp.hrsa.gov"),
    ("America/Toronto", "1-844-764-7669", "911", "ctvnews.ca"),
    ("Europe/London", "111", "999", "npis.org"),
    ("Europe/Dublin", "01 809 2166", "112", "poisons.ie"),
    ("Australia/Sydney", "13 11 26", "000", "poisonsinfo.health.qld.gov.au"),
    ("Pacific/Auckland", "0800 764 766", "111", "poisons.co.nz"),
    ("Europe/Berlin", "030 19240", "112", "rtl.de"),
    ("Europe/Vienna", "01 406 43 43", "144", "gesundheit.gv.at"),
    ("Europe/Zurich", "145", "144", "toxinfo.ch"),
    ("Europe/Paris", "(33) 1 45 42 59 59", "15", "centres-antipoison.net"),
    ("Europe/Brussels", "070 245 245", "112", "antigifcentrum.be"),
    ("Europe/Luxembourg", "8002-5500", "112", "antigifcentrum.be"),
    ("Europe/Madrid", "915620420", "112", "laregion.es"),
    ("Europe/Lisbon", "800 250 250", "112", "jornalincentivo.com"),
    ("Europe/Rome", "02 661.010.29", "112", "ospedaleniguarda.it"),
    ("Europe/Copenhagen", "8212 1212", "112", "sst.dk"),
    ("Europe/Stockholm", "112", "112", "giftinformation.se"),
    ("Europe/Oslo", "22 59 13 00", "113", "helsenorge.no"),
    ("Europe/Helsinki", "0800 147 111", "112", "terveyskyla.fi"),
    ("Atlantic/Reykjavik", "543 2222", "112", "island.is"),
    ("Europe/Prague", "+420 224 919 293", "112", "vfn.cz"),
    ("Europe/Budapest", "06 80 20 11 99", "112", "egeszsegvonal.gov.hu"),
    ("Africa/Johannesburg", "0861 555 777", "112", "westerncape.gov.za"),
    ("Europe/Istanbul", "114", "112", "yenisafak.com"),
]
PREFIXES = {"Europe/Paris": "33", "Europe/Prague": "420"}
"""Country codes, where the page prints the number for callers from abroad: no leading zero then."""


def digits(number: str) -> str:
    return "".join(filter(str.isdigit, number))


@pytest.mark.parametrize(("zone", "printed", "emergency", "page"), PRINTED)
def test_a_number_is_the_one_that_its_page_prints(zone: str, printed: str, emergency: str, page: str) -> None:
    centre = poison_centre(zone)
    assert centre is not None
    if zone in PREFIXES:
        assert digits(printed) == PREFIXES[zone] + digits(centre.number).lstrip("0")
    else:
        assert digits(printed) == digits(centre.number)
    assert centre.emergency_number == emergency
    assert page in sources()[centre.source].url


# 112 in every member country of the Union: European Commission 2009. 192: gov.br; 119: emergencyjapan.org;
# 112 in India: Ministry of Home Affairs, by DNA India 2026. Of their poison centres no page was found that
# prints a number which answers.
@pytest.mark.parametrize(
    ("zone", "emergency"),
    [
        ("Europe/Athens", "112"),
        ("Europe/Warsaw", "112"),
        ("Europe/Amsterdam", "112"),
        ("Asia/Kolkata", "112"),
        ("Asia/Tokyo", "119"),
        ("America/Sao_Paulo", "192"),
    ],
)
def test_where_no_page_was_found_the_emergency_number_stands_alone(zone: str, emergency: str) -> None:
    centre = poison_centre(zone)
    assert centre is not None
    assert (centre.number, centre.emergency_number) == ("", emergency)
