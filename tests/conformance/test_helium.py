"""Helium left in a cylinder against CoolProp's helium (Ortiz Vega et al.), a reference equation of state."""
import random, unittest

from CoolProp.CoolProp import PropsSI

from computing import compute

PASCAL_PER_PSI = 6894.757293
ATMOSPHERE = 101325.0
REFERENCE_KELVIN = 294.25


def moles_per_cubic_metre(gauge_pascal, kelvin):
    return PropsSI("Dmolar", "P", gauge_pascal + ATMOSPHERE, "T", kelvin, "Helium")


def litres(asked):
    kelvin = asked["celsius"] + 273.15
    full = moles_per_cubic_metre(asked["gauge_psi"] * PASCAL_PER_PSI, kelvin)
    kept = moles_per_cubic_metre(asked["reserve_psi"] * PASCAL_PER_PSI, kelvin)
    return asked["water_volume_litre"] * (full - kept) / moles_per_cubic_metre(0.0, REFERENCE_KELVIN)


class Helium(unittest.TestCase):
    def test_200_cylinders_hold_what_the_reference_equation_says_within_0_05_percent(self):
        draw = random.Random(20261129)
        asked = [
            {
                "water_volume_litre": round(draw.uniform(0.5, 50), 2),
                "gauge_psi": round(draw.uniform(300, 2850), 1),
                "celsius": round(draw.uniform(10, 40), 1),
                "reserve_psi": round(draw.uniform(0, 200), 1),
                "flow_litre_per_minute": round(draw.uniform(0.5, 8), 1),
                "gauge_accuracy_percent": 2,
                "gauge_full_scale_psi": 3000,
            }
            for _ in range(200)
        ]
        worst = 0.0
        for each, answer in zip(asked, compute("helium", asked)):
            expected = litres(each)
            worst = max(worst, abs(answer["litres"] / expected - 1))
            self.assertAlmostEqual(answer["litres"] / expected, 1, delta=5e-4, msg=each)
            minutes = expected / each["flow_litre_per_minute"]
            self.assertAlmostEqual(answer["minutes"] / minutes, 1, delta=5e-4, msg=each)
            absolute = each["gauge_psi"] * PASCAL_PER_PSI + ATMOSPHERE
            z = PropsSI("Z", "P", absolute, "T", each["celsius"] + 273.15, "Helium")
            self.assertAlmostEqual(answer["z"] / z, 1, delta=5e-4, msg=each)
            self.assertTrue(answer["in_checked_range"], msg=each)
            self.assertTrue(answer["litres_low"] < answer["litres"] < answer["litres_high"], msg=each)
        print(f"worst of 200 points: {worst:.2e}")

    def test_outside_of_the_checked_range_the_answer_says_so_and_stays_within_its_word(self):
        asked = [
            {
                "water_volume_litre": 4.7,
                "gauge_psi": psi,
                "celsius": celsius,
                "reserve_psi": 0,
                "flow_litre_per_minute": 2,
                "gauge_accuracy_percent": 1,
                "gauge_full_scale_psi": 6000,
            }
            for psi in (100, 1000, 2900, 4350)
            for celsius in (-20, 0, 50, 60)
        ]
        for each, answer in zip(asked, compute("helium", asked)):
            self.assertFalse(answer["in_checked_range"], msg=each)
            self.assertAlmostEqual(answer["litres"] / litres(each), 1, delta=3e-3, msg=each)


if __name__ == "__main__":
    unittest.main()
