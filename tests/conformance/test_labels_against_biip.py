"""The reader beside biip (PyPI, Apache-2.0), a GS1 parser from outside this project."""
import collections
import datetime
import unittest

import biip
from biip.gs1_application_identifiers import _GS1_APPLICATION_IDENTIFIERS as TABLE
from biip.gs1_messages import GS1Message

import made_labels
import reader

COUNT = 100_000

# biip splits and checks dates; the reader also makes the content checks of the GS1 Barcode
# Syntax Dictionary. Error code: why biip accepts what the reader refuses.
STRICTER = {
    "wrong_check_digit": "biip keeps a wrong check digit as an error beside the value, or does not look at it",
    "impossible_value": "biip does not look up countries, currencies, counts and codes",
    "impossible_time": "biip does not check the times of AIs that it does not turn into dates",
    "impossible_date": "biip does not check the dates inside the AIs that it does not turn into dates, and takes DD=00 everywhere",
    "wrong_length": "biip takes shorter optional parts",
    "wrong_character": "biip does not check the inner parts of IBANs, coupons, versions and percent escapes",
    "repeated_differently": "biip lists an AI twice without comparing",
    "wrong_structure": "biip does not look inside coupons and percent escapes",
    "empty_element": "biip takes an optional part that is empty as a value",
}


def accepts(text):
    """biip's elements and expiry, or nothing where it refuses."""
    try:
        strings = GS1Message.parse(text).element_strings
    except (biip.ParseError, ValueError, ArithmeticError):
        return None
    # A printed time is the finer statement, so 7003 goes before 17.
    expiry = {e.ai.ai: str(e.date) for e in strings if e.ai.ai in {"17", "7003"}}
    return [[e.ai.ai, e.value] for e in strings], expiry.get("7003", expiry.get("17"))


class AgainstBiip(unittest.TestCase):
    maxDiff = None

    def test_every_application_identifier_of_the_table_is_known_and_none_else(self):
        maker = made_labels.Maker(1)
        labels = []
        for ai in [f"{number:0{size}}" for size in (2, 3, 4) for number in range(10**size)]:
            if ai not in TABLE:
                labels.append(f"({ai})1")
        answers = reader.read(labels)
        for label, answer in zip(labels, answers):
            self.assertEqual(answer.get("error", {}).get("code"), "unknown_element", label)
        known = sorted(TABLE)
        values = [f"({ai})" + maker.value(ai).replace("(", "\\(") for ai in known]
        for label, answer in zip(values, reader.read(values)):
            self.assertNotEqual(answer.get("error", {}).get("code"), "unknown_element", label)

    def test_an_element_ends_where_the_table_says(self):
        # Behind a value of full length stands AI 240: without a separator, where none is required.
        maker = made_labels.Maker(2)
        labels = []
        for ai in sorted(TABLE):
            for _ in range(20):
                labels.append((ai, "]d2" + maker.element_string([(ai, maker.value(ai)), ("240", "END")])))
        answers = reader.read([text for _, text in labels])
        read = collections.Counter()
        for (ai, text), answer in zip(labels, answers):
            if "error" not in answer:
                read[ai] += 1
                self.assertEqual(answer["elements"][-1], ["240", "END"], text)
                self.assertEqual(answer["elements"][0][0], ai, text)
        unread = [ai for ai in sorted(TABLE) if not read[ai]]
        # Their contents (codes, versions, geography, IBAN, coupons) are not made by a pattern.
        self.assertLess(len(unread), 40, unread)

    def test_a_hundred_thousand_labels_are_read_alike(self):
        maker = made_labels.Maker(3)
        labels = []
        while len(labels) < COUNT:
            text = maker.element_string(maker.elements())
            labels.append(text if len(labels) % 2 else maker.mutated(text))
        # biip settles centuries by the clock.
        today = datetime.date.today().isoformat()
        answers = reader.read(["]d2" + text for text in labels], date=today)
        alike, explained, differ = 0, collections.Counter(), []
        for text, answer in zip(labels, answers):
            theirs = accepts(text)
            ours = None if "error" in answer else (answer["elements"], answer["expires_on"])
            if ours == theirs:
                alike += 1
                continue
            reason = self.explanation(text, answer, theirs)
            explained[reason] += 1
            if reason is None:
                differ.append((text, answer.get("error", ours), theirs))
        print(f"\n{alike} alike; {dict(explained)}")
        self.assertEqual(differ[:20], [], f"{len(differ)} unexplained differences")
        self.assertGreater(alike, COUNT * 6 // 10)

    def explanation(self, text, answer, theirs):
        """The name of a known difference, or nothing."""
        if "error" in answer:
            code = answer["error"]["code"]
            if text != text.strip():
                return "biip strips blanks at both ends"
            return code if theirs is not None and code in STRICTER else None
        undone = {"case_swapped", "layout_repaired", "separator_substituted"} & set(answer["warnings"])
        if theirs is None and undone:
            # The reader undoes what a station does to characters, and says so.
            return sorted(undone)[0]
        return None


if __name__ == "__main__":
    unittest.main()
