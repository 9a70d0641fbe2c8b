"""Documents of a case, read back by programs from outside this project.

PDFs by pypdfium2 (PyPI), the workbook by openpyxl (PyPI), the Bundle by `fhir` (npm). The files are
those that `lotwarden demo day --documents` writes against a service of its own.
"""
import csv
import hashlib
import json
import os
import re
import subprocess
import tempfile
import unicodedata
import unittest
import urllib.request
import uuid
from pathlib import Path

import openpyxl
import pypdfium2

import contract
import makers
import reader

VALIDATOR = Path(__file__).parent / "fhir" / "validate.js"


class Documents(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(dir="/tmp", prefix="lotwarden-documents-")
        os.chmod(cls.folder.name, 0o711)
        cls.data = Path(cls.folder.name) / "data"
        cls.service = None
        try:
            cls.run_lotwarden("demo", "load")
            cls.service = subprocess.Popen(
                cls.command("serve"), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
            cls.run_lotwarden("status", "--wait", "60")
            told = cls.run_lotwarden("demo", "day", "--documents", "--json")
        except BaseException:
            cls.tearDownClass()
            raise
        cls.steps = [json.loads(line) for line in told.splitlines()]
        cls.files = cls.data / "demo-documents"

    @classmethod
    def tearDownClass(cls):
        if cls.service:
            subprocess.run(cls.command("stop"), capture_output=True)
            cls.service.wait(timeout=60)
        cls.folder.cleanup()

    @classmethod
    def command(cls, *arguments):
        return [
            reader.binary(), "--data-dir", str(cls.data), "--listen", "127.0.0.1:0",
            "--log", "warn", *arguments,
        ]

    @classmethod
    def run_lotwarden(cls, *arguments):
        done = subprocess.run(cls.command(*arguments), capture_output=True, text=True, timeout=500)
        if done.returncode:
            raise cls.failureException(f"{arguments}: {done.stdout[-500:]} {done.stderr[-500:]}")
        return done.stdout

    def pages(self, name):
        """The text of each page, white space made one space."""
        pdf = pypdfium2.PdfDocument(self.files / name)
        self.addCleanup(pdf.close)
        texts = [page.get_textpage().get_text_range() for page in pdf]
        return pdf, [re.sub(r"\s+", " ", text) for text in texts]

    def test_the_day_told_size_and_hash_of_each_file(self):
        told = [said for step in self.steps for said in step.get("says", [])]
        names = sorted(path.name for path in self.files.iterdir())
        self.assertEqual(names, [
            "billing-list.csv", "billing-list.xlsx", "chart-bundle.json", "chart-record.pdf",
            "device-record.pdf", "surgical-log.csv", "surgical-log.pdf",
        ])
        for path in self.files.iterdir():
            data = path.read_bytes()
            said = f"{len(data)} bytes, SHA-256 {hashlib.sha256(data).hexdigest()}"
            self.assertIn(said, told, path.name)

    def test_each_page_is_numbered_and_has_the_records_hash_and_place_in_the_ledger(self):
        for name in ["device-record.pdf", "chart-record.pdf"]:
            pdf, pages = self.pages(name)
            for number, text in enumerate(pages, 1):
                self.assertIn(f"Page {number} of {len(pages)}", text)
                self.assertRegex(text, r"Record SHA-256 [0-9a-f]{64}")
                self.assertRegex(text, r"signed at ledger position \d+; this copy is ledger entry \d+")
            self.assertTrue(pdf.get_metadata_value("Title"))

    def test_the_files_are_tagged_and_name_nobody_in_their_metadata(self):
        for name in ["device-record.pdf", "chart-record.pdf", "surgical-log.pdf"]:
            pdf, _ = self.pages(name)
            self.assertTrue(pypdfium2.raw.FPDFCatalog_IsTagged(pdf), name)
            tree = pypdfium2.raw.FPDF_StructTree_GetForPage(pdf[0])
            self.assertEqual(pypdfium2.raw.FPDF_StructTree_CountChildren(tree), 1, name)
            pypdfium2.raw.FPDF_StructTree_Close(tree)
            title = pdf.get_metadata_value("Title")
            self.assertIn(title, ["Device record for the patient", "Chart record", "Surgical log"])

    def test_the_patients_record_says_what_was_used_and_what_was_amended(self):
        _, pages = self.pages("device-record.pdf")
        text = " ".join(pages)
        for part in ["What was used", "Reusable cannula set", "Helium", "Mix:", "lidocaine",
                     "How to read this", "Minutes", "(amended, see", "The timer was", "read again"]:
            self.assertIn(part, text)

    def test_the_chart_record_shows_doses_with_their_caution(self):
        _, pages = self.pages("chart-record.pdf")
        text = " ".join(pages)
        for part in ["Ordered and signed", "Weight", "mg/kg", "For information only",
                     "Reconciliation", "Kept until", "Sterilized in"]:
            self.assertIn(part, text)

    def test_energy_stands_beside_the_sites_limits_in_the_words_of_the_pages(self):
        _, pages = self.pages("chart-record.pdf")
        text = " ".join(pages)
        words = json.loads((Path(__file__).parents[2] / "services/api/pages/texts/en.json").read_text())
        for part in [words["energy.limits"], words["thermometer_type.infrared_camera"]]:
            self.assertIn(part, text)
        bundle = json.loads((self.files / "chart-bundle.json").read_text())
        resources = [entry["resource"] for entry in bundle["entry"]]
        [procedure] = [one for one in resources if one["resourceType"] == "Procedure"]
        notes = [note["text"] for note in procedure["note"]]
        value, camera = words["energy_value.max_skin_celsius"], words["thermometer_type.infrared_camera"]
        said = f"outside the site's limits: {value} – 36 ({camera}) Quillback Lane policy 22 (invented)"
        self.assertTrue(any(said in note for note in notes), notes)

    def test_no_amount_has_more_figures_than_a_person_writes(self):
        for name in ["chart-record.pdf", "device-record.pdf", "surgical-log.pdf"]:
            _, pages = self.pages(name)
            for amount in re.findall(r"(\d+\.\d+) m(?:g|Eq)", " ".join(pages)):
                self.assertLessEqual(len(amount.replace(".", "").lstrip("0")), 4, f"{name}: {amount}")

    def test_a_procedure_in_any_alphabet_of_europe_reads_back_as_it_was_written(self):
        address = json.loads(self.run_lotwarden("status", "--json"))["address"]
        everybody = contract.people(self.data / "demo-people.json")
        person = next(each for each in everybody if "circulator" in contract.roles(each))
        token = contract.sign_in(address, person)

        def ask(path, body=None):
            heads = {"authorization": f"Bearer {token}", "content-type": "application/json",
                     "idempotency-key": str(uuid.uuid4())}
            data = None if body is None else json.dumps(body).encode()
            request = urllib.request.Request(f"{address}{path}", data, heads)
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.read()

        known = json.loads(ask("/v1/cases"))["items"][0]
        lines = [*makers.MAKERS, makers.MARKED]
        for line in lines:
            case = json.loads(ask("/v1/cases", {
                "patient": {"record_number": "MRN-004217", "name": "Example, Robin"},
                "procedure": line, "location_id": known["location"]["id"],
                "practitioner_id": known["practitioner"]["id"],
                "scheduled_for": "2026-11-24T14:30:00Z",
            }))
            with pypdfium2.PdfDocument(ask(f"/v1/cases/{case['id']}/chart-record")) as pdf:
                text = pdf[0].get_textpage().get_text_range()
                for part in pdf[0].get_objects():
                    if part.type == pypdfium2.raw.FPDF_PAGEOBJ_TEXT:
                        font = pypdfium2.raw.FPDFTextObj_GetFont(part)
                        self.assertTrue(pypdfium2.raw.FPDFFont_GetIsEmbedded(font))
            self.assertIn(unicodedata.normalize("NFC", line), text)

    def test_the_workbook_and_the_csv_hold_the_same_texts(self):
        with open(self.files / "billing-list.csv", newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        book = openpyxl.load_workbook(self.files / "billing-list.xlsx")
        cells = [["" if cell.value is None else cell.value for cell in row] for row in book.active]
        self.assertEqual(cells, rows)
        self.assertGreater(len(rows), 3)
        for row in book.active.iter_rows(min_row=2):
            for cell in row:
                self.assertIn(cell.data_type, ("s", "n"))
                self.assertTrue(cell.value is None or isinstance(cell.value, str), cell.value)

    def test_the_surgical_log_has_the_days_cases_with_totals(self):
        with open(self.files / "surgical-log.csv", newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        self.assertGreaterEqual(len(rows), 4)
        self.assertTrue(any("lidocaine" in row["mixes_given"] for row in rows))
        self.assertTrue(any("12 -> 13" in row["amendments"] for row in rows))
        _, pages = self.pages("surgical-log.pdf")
        # A narrow column breaks its lines, and the text is read across the columns.
        self.assertIn("Cooled vein", " ".join(pages))

    def test_the_bundle_is_valid_r4(self):
        folder = os.environ.get("LOTWARDEN_TEST_FHIR")
        if not folder or not (Path(folder) / "node_modules" / "fhir").is_dir():
            self.fail(
                "LOTWARDEN_TEST_FHIR names no folder with fhir: run tests/run, or run npm ci in a "
                "copy of tests/conformance/fhir and set it to that folder"
            )
        done = subprocess.run(
            ["node", str(VALIDATOR)], input=(self.files / "chart-bundle.json").read_text(),
            capture_output=True, text=True, timeout=120,
            env={**os.environ, "NODE_PATH": str(Path(folder) / "node_modules")},
        )
        self.assertEqual((done.returncode, done.stdout, done.stderr), (0, "", ""))
        wrong = json.loads((self.files / "chart-bundle.json").read_text())
        for entry in wrong["entry"]:
            if entry["resource"]["resourceType"] == "Procedure":
                entry["resource"]["status"] = "over"
        done = subprocess.run(
            ["node", str(VALIDATOR)], input=json.dumps(wrong), capture_output=True, text=True,
            timeout=120, env={**os.environ, "NODE_PATH": str(Path(folder) / "node_modules")},
        )
        self.assertIn("Procedure", done.stdout)


if __name__ == "__main__":
    unittest.main()
