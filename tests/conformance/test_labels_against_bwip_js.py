"""The reader beside bwip-js (npm, MIT), which checks the content of every AI."""
import collections
import unittest

import bwip_js
import made_labels
import reader

# AI prefix and error of the reader: why bwip-js accepts what the reader refuses.
STRICTER = {
    ("8010", "wrong_character"): "a company prefix begins with four digits (GS1 Barcode Syntax Dictionary, gcppos1)",
    ("401", "wrong_length"): "a company prefix has at least four digits (gcppos1)",
    ("8011", "impossible_value"): "a lone 0 begins with a zero too (nozeroprefix, its unit test)",
    ("391", "impossible_value"): "bwip-js keeps currencies that ISO 4217 has withdrawn (HRK, SLL, ZWL)",
    ("393", "impossible_value"): "as 391",
}
# bwip-js's error: why the reader accepts what bwip-js refuses.
MILDER = {
    "GS1exclusiveAIs": "bwip-js looks for exclusions always, the reader with its associations",
    "GS1missingAIs": "bwip-js does not yet take AI 03 as a companion (GS1 Barcode Syntax Dictionary, 2025)",
    "GS1UnknownCurrency": "bwip-js does not have 924, the ISO 4217 code of the Zimbabwe Gold since 2024",
}


class AgainstBwipJs(unittest.TestCase):
    def test_a_hundred_thousand_printed_labels_are_judged_alike(self):
        self.compare(made(4, 100_000), "off", MILDER)

    def test_required_and_forbidden_companions_are_judged_alike(self):
        currency = {name: why for name, why in MILDER.items() if name != "GS1exclusiveAIs"}
        self.compare(made(5, 20_000), "on", currency)

    def compare(self, labels, associations, milder):
        verdicts = bwip_js.judge(labels, companions=associations == "on")
        answers = reader.read(labels, associations=associations)
        self.assertEqual(len(verdicts), len(labels))
        explained, differ = collections.Counter(), []
        for text, verdict, answer in zip(labels, verdicts, answers):
            if ("error" in answer) == bool(verdict):
                continue
            reason = explanation(text, verdict, answer, milder)
            explained[reason] += 1
            if reason is None:
                differ.append((text, verdict, answer.get("error", answer.get("warnings"))))
        print(f"\n{len(labels)} labels, {sum(not v for v in verdicts)} accepted, apart: {dict(explained)}")
        self.assertEqual(differ[:20], [], f"{len(differ)} unexplained differences")
        self.assertGreater(sum(not verdict for verdict in verdicts), len(labels) // 50)
        self.assertLess(sum(explained.values()), len(labels) // 20)


def made(seed, count):
    """Printed labels, every second one with a change in one value."""
    maker, labels = made_labels.Maker(seed), []
    while len(labels) < count:
        elements = [(ai, value.replace("(", "<")) for ai, value in maker.elements()]
        if len(labels) % 2:
            at = maker.random.randrange(len(elements))
            ai, value = elements[at]
            elements[at] = (ai, maker.mutated(value) if value else "1")
        labels.append("".join(f"({ai}){value}" for ai, value in elements))
    return labels


def explanation(text, verdict, answer, milder):
    """The name of a known difference, or nothing."""
    if verdict:
        name = next((name for name in milder if name in verdict), None)
        return None if name == "GS1missingAIs" and "(03)" not in text else name
    error = answer["error"]
    ai = text[: error["at"] + 1].rsplit("(", 1)[-1].split(")")[0]
    return next((key for key in STRICTER if ai.startswith(key[0]) and error["code"] == key[1]), None)


if __name__ == "__main__":
    unittest.main()
