"""The open area: one row a look that measured it, of cases that are asked about."""

from tests.planted import ANIMAL, CASE, found, plant, plant_case


def test_looks_that_measured_and_the_smaller_area_of_a_day(store):
    plant_case(store)
    plant(store, "visits", visit_day=3, open_area_cm2=8.0, open_perimeter_cm=10.0)
    plant(store, "visits", visit_day=3, contact="owner_photo", open_area_cm2=7.5, open_perimeter_cm=9.0)
    plant(store, "visits", visit_day=5)
    plant(store, "visits", visit_day=7, contact="phone", open_area_cm2=1.0)
    plant(store, "visits", visit_day=9, open_area_cm2=0.0)
    other = plant_case(store, "b" * 12, done_method="not_done")
    plant(store, "visits", animal="b" * 12, visit_day=3, open_area_cm2=4.0)

    assert other != CASE
    assert found(store, "open_area") == [
        (CASE, ANIMAL, "dog", "mesh_graft", 3, 7.5, 9.0),
        (CASE, ANIMAL, "dog", "mesh_graft", 9, 0.0, None),
    ]
