"""Work days and federal holidays against PyPI `holidays`, an independent calendar."""
import unittest
from datetime import date, timedelta

import holidays

from computing import compute

YEARS = range(2021, 2031)
DAYS = [date(YEARS[0], 1, 1) + timedelta(days=n) for n in range(3652)]
# The next year too: its New Year may be observed in the last of these.
CALENDAR = holidays.country_holidays("US", years=range(YEARS[0], YEARS[-1] + 2))


def counts(day):
    return day.weekday() < 5 and day not in CALENDAR


def after(day, work_days):
    while work_days:
        day += timedelta(days=1)
        work_days -= counts(day)
    return day


class Deadlines(unittest.TestCase):
    def test_ten_work_days_after_every_day_of_ten_years(self):
        answers = compute("deadline", [{"aware_on": day.isoformat()} for day in DAYS])
        for day, answer in zip(DAYS, answers):
            self.assertEqual(answer["due_on"], after(day, 10).isoformat(), msg=day)

    def test_the_federal_holidays_of_ten_years_are_the_same(self):
        answers = compute("deadline", [{"aware_on": f"{year}-01-01", "work_days": 255} for year in (*YEARS, YEARS[0] - 1)])
        weekend = {"Saturday", "Sunday"}
        skipped = {
            date.fromisoformat(day)
            for answer in answers
            for day, reason in answer["skipped"].items()
            if reason not in weekend
        }
        # An observed holiday counts on the day it is observed; its own day is then a weekend.
        expected = {day for day in CALENDAR if day.weekday() < 5 and DAYS[0] <= day <= DAYS[-1]}
        self.assertEqual({day for day in skipped if DAYS[0] <= day <= DAYS[-1]}, expected)
        self.assertGreaterEqual(len(expected), 109)


if __name__ == "__main__":
    unittest.main()
