"""Gestation of one calf against the figures its sources give."""

import pytest

from sunup.app.open import open_library
from sunup.forecast.gestation import GestationFigures, expect_gestation


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return GestationFigures.of(library)


def days(figures, sire=(), dam=(), **more):
    return expect_gestation(sire=sire, dam=dam, figures=figures, **more).mean_d


def pure(breed):
    return {"sire": ((breed, 1.0),), "dam": ((breed, 1.0),)}


@pytest.mark.parametrize(
    ("breed", "published"),
    [
        ("Angus", 281.7),  # abstract on three breeds
        ("Hereford", 286.1),  # the same
        ("AN", 281.7),  # a breed's code is read as well
        ("Brahman", 292),  # Torell, Nevada extension
    ],
)
def test_purebred_calf_has_its_breeds_figure(figures, breed, published):
    assert published == pytest.approx(days(figures, **pure(breed)))


def test_cross_is_the_mean_of_sire_and_dam(figures):
    # the embryo's own breed counts: Angus 281.7 and Hereford 286.1 give 283.9
    crossed = days(figures, sire=(("Angus", 1.0),), dam=(("Hereford", 1.0),))
    assert crossed == pytest.approx(283.9)


def test_breed_of_one_parent_stands_for_both_and_none_gives_283(figures):
    assert days(figures, dam=(("Angus", 1.0),)) == pytest.approx(281.7)
    assert days(figures, sire=(("no such breed", 1.0),)) == pytest.approx(283)


@pytest.mark.parametrize(
    ("breed", "published", "tolerance"),
    [
        ("Simmental", 1.5, 1e-9),  # Beef Improvement Federation
        ("Brahman", 3.7, 1e-9),  # northern Australia, 812 calves
        ("Santa Gertrudis", 3.0, 0.5),  # the same; a composite lies between the two figures
    ],
)
def test_bull_calves_come_later_than_heifer_calves(figures, breed, published, tolerance):
    later = days(figures, **pure(breed), sex="male") - days(figures, **pure(breed), sex="female")
    assert published == pytest.approx(later, abs=tolerance)


def test_heifers_calve_1_9_days_sooner(figures):
    # Simmental, Beef Improvement Federation
    cow, heifer = (
        days(figures, **pure("Simmental")),
        days(figures, **pure("Simmental"), is_heifer=True),
    )
    assert heifer - cow == pytest.approx(-1.9)


def test_twins_come_6_8_days_sooner_and_their_sex_says_nothing(figures):
    # 277.5 against 284.3 days, USDA twinning herd
    single = days(figures, **pure("Angus"))
    assert days(figures, **pure("Angus"), n_calves=2) - single == pytest.approx(277.5 - 284.3)
    assert days(figures, **pure("Angus"), n_calves=2, sex="male") == days(
        figures, **pure("Angus"), n_calves=2
    )
