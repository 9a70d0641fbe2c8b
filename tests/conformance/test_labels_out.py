"""Labels and the station's test page as zxing-cpp (PyPI) decodes them from the pictures."""
import subprocess
import tempfile
import unicodedata
import unittest
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pypdfium2
from PIL import Image

import makers
import reader
import symbols

# Elements of GS1's example prefix 952: a mix, a cylinder, a place. The identity is what was asked for.
LABELS = [
    ("(01)09520123456788(17)271231(10)MIX-0042", [["01", "09520123456788"], ["17", "271231"], ["10", "MIX-0042"]]),
    ("(8003)09521234543213C-17", [["8003", "09521234543213C-17"]]),
    ("(91)112233445566778899001122334455667788990", [["91", "112233445566778899001122334455667788990"]]),
    ("(01)09520123456788(10)A1234567B(21)7", [["01", "09520123456788"], ["10", "A1234567B"], ["21", "7"]]),
    ("(01)09520123456788(10)<&>'(21)a", [["01", "09520123456788"], ["10", "<&>'"], ["21", "a"]]),
]
KINDS = {"gs1-datamatrix": "]d2", "gs1-128": "]C1"}


def pages(pdf):
    """Every page as a picture of 300 dots to the inch."""
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=300 / 72).to_pil() for page in document]


class LabelsOut(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = Path(folder.name)

    def write(self, name, *arguments):
        file = self.folder / name
        reader.lotwarden("labels", "--output", str(file), *arguments)
        return file

    def test_every_picture_reads_back_to_the_elements_that_were_asked_for(self):
        for symbol, prefix in KINDS.items():
            for at, (text, elements) in enumerate(LABELS):
                with self.subTest(symbol=symbol, text=text):
                    file = self.write(f"{symbol}{at}.png", "--symbol", symbol, "--title", "Shelf 3", text)
                    scan = symbols.only(file)
                    self.assertTrue(scan.startswith(prefix), scan)
                    self.assertEqual(reader.read([scan])[0]["elements"], elements)

    def test_a_sheet_holds_every_label_and_its_text(self):
        wanted = [f"(01)09520123456788(10)LOT{at}" for at in range(60)]
        for symbol in KINDS:
            for paper in ("a4", "letter"):
                with self.subTest(symbol=symbol, paper=paper):
                    file = self.write("sheet.pdf", "--symbol", symbol, "--paper", paper, *wanted)
                    found = [text for page in pages(file) for text in symbols.all_in(page)]
                    lots = sorted(answer["lot"] for answer in reader.read(found))
                    self.assertEqual(lots, sorted(f"LOT{at}" for at in range(60)))
                    printed = "".join(p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(file))
                    # GS1 General Specifications 4.14: identifiers in brackets.
                    self.assertIn("(01)09520123456788", printed)
                    self.assertIn("(10)LOT59", printed)

    def test_a_heading_in_any_alphabet_of_europe_reads_back_as_it_was_written(self):
        for name in [*makers.MAKERS, makers.MARKED]:
            with self.subTest(name=name):
                file = self.write("sheet.pdf", "--title", name, "(91)1")
                [page] = pypdfium2.PdfDocument(file)
                first = page.get_textpage().get_text_range().splitlines()[0]
                self.assertEqual(first, unicodedata.normalize("NFC", name))

    def test_an_svg_has_the_same_symbol_and_escapes_its_text(self):
        file = self.write("label.svg", "--title", "A & <B>", "(01)09520123456788(10)<&>")
        root = ElementTree.parse(file).getroot()
        space = {"s": "http://www.w3.org/2000/svg"}
        texts = [each.text for each in root.findall(".//s:text", space)]
        self.assertEqual(texts, ["A & <B>", "(01)09520123456788", "(10)<&>"])
        self.assertEqual(reader.read([symbols.only(self.painted(root, space))])[0]["lot"], "<&>")

    def painted(self, root, space):
        """The dark rectangles of the path, 20 dots to the millimetre."""
        _, _, width, height = map(float, root.get("viewBox").split())
        image = Image.new("L", (round(width * 20), round(height * 20)), 255)
        for bar in root.find("s:path", space).get("d").split("M")[1:]:
            start, across, down, _ = bar.replace("z", "").replace("v", "h").split("h")
            left, top = (round(float(n) * 20) for n in start.split())
            image.paste(0, (left, top, left + round(float(across) * 20), top + round(float(down) * 20)))
        return image

    def test_what_would_not_be_read_back_is_not_written(self):
        for text in ("(01)09520123456789", "nonsense", "(21)SERIALONLY"):
            with self.subTest(text=text), self.assertRaises(self.failureException) as refused:
                self.write("label.svg", text)
            self.assertIn("cannot be a label", str(refused.exception))


class TestPage(unittest.TestCase):
    def setUp(self):
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "page.pdf"
            reader.lotwarden("station", "test-page", "--output", str(file))
            [page] = pages(file)
        self.scans = symbols.all_in(page)

    def check(self, scans):
        text = "".join(scan + "\r\n" for scan in scans)
        done = subprocess.run([reader.binary(), "station", "check"], input=text.encode(), capture_output=True)
        outcomes = dict(line.split()[:2] for line in done.stdout.decode().splitlines()[:3])
        return done.returncode, outcomes

    def test_a_scanner_that_keeps_every_character_passes(self):
        self.assertEqual(len(self.scans), 3)
        every = {"gs1_datamatrix": "proven", "gs1_128": "proven", "hibc": "proven"}
        self.assertEqual(self.check(self.scans), (0, every))
        # Without symbology identifiers too.
        self.assertEqual(self.check([scan[3:] for scan in self.scans]), (0, every))

    def test_each_fault_is_named(self):
        faults = {
            "separator_lost": lambda scan: scan.replace("\x1d", ""),
            "case_swapped": str.swapcase,
            "layout_changed": lambda scan: scan[3:].translate(str.maketrans("zyZY-/+$", "yzYZß-]$")),
            "suffix_added": lambda scan: scan + "/",
        }
        for name, damage in faults.items():
            with self.subTest(fault=name):
                code, outcomes = self.check([damage(scan) for scan in self.scans])
                self.assertEqual(code, 1)
                self.assertEqual(outcomes["gs1_datamatrix"], name)
                self.assertEqual(outcomes["gs1_128"], name)

    def test_a_symbol_that_was_not_scanned_is_said(self):
        code, outcomes = self.check(self.scans[:2])
        self.assertEqual((code, sorted(outcomes.values()).count("unread")), (1, 1))


if __name__ == "__main__":
    unittest.main()
