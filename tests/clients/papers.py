"""Papers as PDF, read back by poppler: text, pages, fonts, tags, and a look at what is drawn."""

import re
import subprocess
import tempfile
import unittest
import urllib.parse
import uuid
from pathlib import Path

from demo import Demo


def poppler(tool, *arguments, data):
    """What a tool of poppler says of a PDF."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(data)
        file.flush()
        done = subprocess.run([tool, *arguments, file.name, *(["-"] if tool == "pdftotext" else [])], check=True,
                              capture_output=True, text=True)
    return done.stdout


def darkness(data, page):
    """The share of a page that is not white, as poppler draws it."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "paper.pdf"
        file.write_bytes(data)
        subprocess.run(["pdftoppm", "-r", "40", "-gray", "-f", str(page), "-l", str(page), file, f"{folder}/page"], check=True)
        picture = next(Path(folder).glob("*.pgm")).read_bytes()
    pixels = picture[len(picture) // 10:]
    return sum(value < 200 for value in pixels) / len(pixels)


class Papers(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.demo = Demo()
        cls.vet = cls.demo.browser("vet")
        visit, horse, count = cls.demo.rows(
            "select e.visit_id, v.horse_id, count(*) from entry e join visit v on v.id = e.visit_id "
            "where v.state = 'signed' group by 1 order by 3 desc limit 1")[0]
        assert count > 50, count
        cls.visit, cls.horse = uuid.UUID(bytes=visit), uuid.UUID(bytes=horse)

    @classmethod
    def tearDownClass(cls):
        cls.demo.stop()

    def test_a_report_is_tagged_has_its_fonts_inside_and_says_what_its_page_says(self):
        data = self.vet.get_bytes(f"/visits/{self.visit}/report.pdf")
        info = poppler("pdfinfo", data=data)
        self.assertRegex(info, r"Tagged:\s+yes")
        self.assertRegex(info, r"Page size:.*A4")
        self.assertRegex(info, r"Title:\s+Report, ")
        fonts = [line.split() for line in poppler("pdffonts", data=data).splitlines()[2:]]
        self.assertTrue(fonts)
        for font in fonts:
            self.assertEqual(font[-5:-2], ["yes", "yes", "yes"], f"embedded, as far as used, with its letters: {font}")
        text = " ".join(poppler("pdftotext", "-layout", data=data).split())
        page = self.vet.get(f"/visits/{self.visit}/report")
        article = page[page.index('<article class="report"'):page.index("</article>")]
        for heading in re.findall(r"<h2>([^<]+)</h2>", article):
            self.assertIn(" ".join(heading.split()), text)
        horse = re.search(r"<h1>([^<]+)</h1>", article).group(1).strip()
        self.assertIn(horse, text)
        structure = poppler("pdfinfo", "-struct-text", data=data)
        for tag in ("H1", "H2", "P", "L", "LI", "Figure"):
            self.assertRegex(structure, rf"(?m)^\s*{tag}\b", tag)
        # The plan of the horse is drawn, not a picture of it.
        self.assertEqual(len(poppler("pdfimages", "-list", data=data).splitlines()), 2)
        self.assertGreater(darkness(data, 1), 0.02)

    def test_a_record_of_sixty_visits_goes_over_pages_with_its_heads_again(self):
        mine = self.demo.browser("vet")
        for _ in range(60):
            mine.post(f"/horses/{self.horse}/visits")
        why = urllib.parse.quote("the county court")
        data = mine.get_bytes(f"/horses/{self.horse}/record/whole.pdf?for_whom={why}&all=yes")
        pages = poppler("pdftotext", "-layout", data=data).split("\f")[:-1]
        count = int(re.search(r"Pages:\s+(\d+)", poppler("pdfinfo", data=data)).group(1))
        self.assertEqual(len(pages), count)
        visits = self.demo.rows("select count(*) from visit where horse_id = ?", self.horse.bytes)[0][0]
        self.assertGreaterEqual(visits, 60)
        self.assertEqual(sum(page.count("· Visit report ·") for page in pages), visits)
        for number, page in enumerate(pages, 1):
            self.assertIn(f"page {number} of {count}", page)
        # A page that begins within the table of entries has the table's head on its first line.
        within = [page for page in pages if re.match(r"\s*No\.\s+Seen\s+Received\s+By\s+What", page)]
        self.assertGreaterEqual(len(within), 2)
        structure = poppler("pdfinfo", "-struct", data=data)
        self.assertEqual(len(re.findall(r"(?m)^\s*THead\b", structure)), len(re.findall(r"(?m)^\s*Table\b", structure)))

    def test_a_letter_in_other_alphabets_loses_no_letter(self):
        owner = self.demo.browser("owner")
        words = "# {horse}\n\nŁódź, Ελλάδα, Київ, ✓ → ½ and 馬."
        at = f"/visits/{self.visit}/letters/consent"
        vet = self.demo.browser("vet")
        page = vet.post(at, words=words, proposed="a block", risks="few")
        link = re.search(r"/letters/[0-9a-f-]{36}/letter\.pdf", page).group()
        text = poppler("pdftotext", data=vet.get_bytes(link))
        for part in ("Łódź", "Ελλάδα", "Київ", "✓", "→", "½", "[U+99AC]"):
            self.assertIn(part, text)
        self.assertIn("Consent form", owner.get(f"/visits/{self.visit}/letters"))


if __name__ == "__main__":
    unittest.main()
