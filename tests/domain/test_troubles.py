"""What a sign may mean. Rows name what they were read in; the rest is recalled or practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain import tables
from domain.sources import sources
from domain.troubles import Circumstances, troubles, troubles_in


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("yellow leaves on B2", "yellow"),
        ("new leaves are yellow", "yellow_new"),
        ("B2 lower leaves yellowing", "yellow_old"),
        ("brown spots on the chard", "spots"),
        ("tips browning on B2", "tip_burn"),
        ("tip burn on the lettuce", "tip_burn_inner"),
        ("seedlings look leggy", "leggy"),
        ("A4 wilting", "wilt"),
        ("green algae on the plugs", "algae"),
        ("slime in the tank", "slime"),
        ("slimy roots on B2", "root_rot"),
        ("aphids on the basil", "aphids"),
        ("tiny flies, fungus gnats I think", "gnats"),
        ("powdery mildew on C1", "mildew"),
        ("root rot in A1", "root_rot"),
        ("B2 damped off", "damping_off"),
        ("lettuce is bolting", "bolting"),
        ("Spider MITES!!", "mites"),
    ],
)
def test_the_likeliest_sign(text: str, sign: str) -> None:
    assert troubles_in(text)[0].sign == sign


@pytest.mark.parametrize(
    "text",
    ["B2 looks healthy", "no aphids any more", "not yellow at all", "", "basil is lush", "first true leaves"],
)
def test_no_sign_no_advice(text: str) -> None:
    assert troubles_in(text) == ()


def test_what_is_known_of_the_water_decides_between_causes() -> None:
    """uf_ph_pg: arugula yellow at pH 7.0, its roots sound; bates_1984: rot above 23 degC."""
    assert "iron" in troubles_in("yellow leaves", Circumstances(ph=7.0))[0].causes[0]
    assert "iron" not in troubles_in("yellow leaves", Circumstances(ph=5.9))[0].causes[0]
    assert troubles_in("wilting", Circumstances(water_temp_c=26))[0].sign == "wilt_warm"
    assert troubles_in("wilting", Circumstances(water_temp_c=19))[0].sign == "wilt"


def test_every_row_is_whole() -> None:
    for trouble in troubles():
        assert trouble.causes
        assert trouble.look
        assert len(trouble.remedies) >= 2
        assert trouble.urgency in ("routine", "soon", "urgent")
    for row in tables.rows("symptoms"):
        assert set(tables.parts(row["source"])) <= set(sources())
        assert row["basis"] in ("read", "memory", "common practice")
    assert len({trouble.sign for trouble in troubles()}) == len(troubles())


def test_no_row_sounds_certain_and_bleach_is_only_warned_of() -> None:
    for row in tables.rows("symptoms"):
        said = " ".join((row["causes"], row["remedies"])).lower()
        assert "certainly" not in said
        assert "definitely" not in said
        assert "bleach" not in said or "no bleach near plants" in said


@given(st.text(max_size=4096))
def test_any_text_is_borne(text: str) -> None:
    assert len(troubles_in(text)) <= 2
