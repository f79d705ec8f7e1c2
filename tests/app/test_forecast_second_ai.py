"""What a second AI adds to the costs."""

from types import SimpleNamespace

import pytest

from herds import LIBRARY
from sunup.app.forecast_second import with_second
from sunup.forecast.summary import Costs

pytestmark = pytest.mark.app

BENCH = SimpleNamespace(library=LIBRARY, request=SimpleNamespace(chutes=1))


def middle(key):
    low, high = LIBRARY.figure(f"prices.{key}").span
    return (low + high) / 2


def test_drugs_are_paid_for_the_open_ones_and_the_scan_for_all():
    # by hand from the steps of the protocol: a scan for all; two GnRH, an insert, a PGF and the
    # hours at the chute for those not pregnant, about 3 passes of some dollars each
    plain = Costs(per_female=30.0, per_insemination=25.0)
    second = LIBRARY.protocols["resync_us28_cosynch"]
    told = with_second(plain, second, head=50, bench=BENCH)
    drugs = 2 * middle("gnrh_dose") + middle("insert") + middle("pgf_dose")
    assert drugs < told.per_open < drugs + 15.0
    scan = told.per_female - plain.per_female
    assert middle("pregnancy_check_ultrasound") <= scan < middle("pregnancy_check_ultrasound") + 5.0
    assert told.per_insemination == plain.per_insemination


def test_watching_for_returns_is_shared_by_all_and_nothing_else_is_paid():
    plain = Costs(per_female=30.0, per_insemination=25.0)
    second = LIBRARY.protocols["resync_watch"]
    few, many = (with_second(plain, second, head=head, bench=BENCH) for head in (20, 200))
    assert few.per_open == many.per_open == 0.0
    assert few.per_female > many.per_female > plain.per_female
