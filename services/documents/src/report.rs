//! Documents of headings, paragraphs, named values and tables as PDF: paginated, tagged, with a
//! footer on every page.

mod layout;
mod write;

use crate::Unprintable;
use crate::typeface::LACKS;
use layout::Layout;

/// A document. Its title stands in the file's metadata, so it names nobody.
#[derive(Clone, Debug, Default)]
pub struct Report {
    title: String,
    footer: Vec<String>,
    blocks: Vec<Block>,
}

#[derive(Clone, Debug)]
enum Block {
    Heading(String),
    Text(String),
    Facts(Vec<(String, String)>),
    Table(Vec<Column>, Vec<Vec<String>>),
}

/// A column of a table: its heading and its share of the width.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// The heading.
    pub heading: &'static str,
    /// Its share of the width, beside those of the other columns.
    pub share: usize,
}

impl Report {
    /// A document with these lines at the foot of each page, above the page's number.
    #[must_use]
    pub fn new(title: &str, footer: Vec<String>) -> Self {
        Self {
            title: title.to_owned(),
            footer,
            blocks: Vec::new(),
        }
    }

    /// Begins a section.
    pub fn heading(&mut self, text: &str) {
        self.blocks.push(Block::Heading(text.to_owned()));
    }

    /// Adds a paragraph.
    pub fn text(&mut self, text: &str) {
        self.blocks.push(Block::Text(text.to_owned()));
    }

    /// Adds names with their values, one a row.
    pub fn facts<N: ToString, V: ToString>(&mut self, facts: impl IntoIterator<Item = (N, V)>) {
        let facts = facts.into_iter();
        let facts = facts.map(|(name, value)| (name.to_string(), value.to_string()));
        self.blocks.push(Block::Facts(facts.collect()));
    }

    /// Adds a table; without a row it is the paragraph `none`.
    pub fn table(&mut self, columns: &[Column], rows: Vec<Vec<String>>, none: &str) {
        if rows.is_empty() {
            self.text(none);
        } else {
            self.blocks.push(Block::Table(columns.to_vec(), rows));
        }
    }

    /// The document as PDF, on US letter paper.
    ///
    /// # Errors
    /// When the typeface cannot be put into the file.
    pub fn pdf(&self) -> Result<Vec<u8>, Unprintable> {
        write::document(&self.title, &self.footer, &self.layout())
    }

    fn layout(&self) -> Layout {
        let mut layout = Layout::new(&self.title, self.footer.len());
        for block in &self.blocks {
            match block {
                Block::Heading(text) => layout.heading(text),
                Block::Text(text) => layout.text(text),
                Block::Facts(facts) => layout.facts(facts),
                Block::Table(columns, rows) => layout.table(columns, rows),
            }
        }
        if layout.lacks() {
            layout.text(LACKS);
        }
        layout
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn long(rows: usize) -> Report {
        let mut report = Report::new("A list", vec!["Record 1".to_owned()]);
        let columns =
            [("Name", 3), ("Number", 1)].map(|(heading, share)| Column { heading, share });
        let rows = (0..rows).map(|row| vec![format!("Item {row}"), row.to_string()]);
        report.table(&columns, rows.collect(), "none");
        report
    }

    /// The texts of each page, without the foot.
    fn pages(report: &Report) -> Vec<Vec<String>> {
        let pages = report.layout().pages;
        let text = |run: &layout::Run| run.text.iter().map(ToString::to_string).collect();
        let page = |runs: &Vec<layout::Run>| runs.iter().map(text).collect();
        pages.iter().map(page).collect()
    }

    #[test]
    fn every_page_has_the_heading_of_the_table_that_goes_on() {
        let pages = pages(&long(150));
        assert_eq!(pages.len(), 3);
        for page in &pages {
            assert!(page.iter().any(|text| text == "Number"));
        }
        let last = pages.last().unwrap();
        assert!(last.iter().any(|text| text == "Item 149"));
    }

    #[test]
    fn an_empty_table_says_so_and_takes_one_page() {
        assert_eq!(pages(&long(0)), [["A LIST", "none"]]);
    }

    #[test]
    fn a_document_made_twice_has_the_same_bytes() {
        let bytes = long(20).pdf().unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
        assert_eq!(bytes, long(20).pdf().unwrap());
    }

    #[test]
    fn a_character_that_the_typeface_lacks_is_named() {
        let mut report = Report::new("Names", Vec::new());
        report.text("Zoë Žák, Łąka, Φλέβα, Вена, Tĩnh mạch");
        assert_eq!(
            pages(&report),
            [["NAMES", "Zoë Žák, Łąka, Φλέβα, Вена, Tĩnh mạch"]]
        );
        report.text("漢");
        let [shown] = <[Vec<String>; 1]>::try_from(pages(&report)).unwrap();
        assert!(shown.iter().any(|text| text == "[?]"));
        let said = shown.last().unwrap();
        assert!(LACKS.ends_with(said), "{said}");
    }

    #[test]
    fn a_line_is_as_many_columns_as_characters_whatever_marks_stand_on_them() {
        let columns = [("Name", 1), ("Maker", 1)].map(|(heading, share)| Column { heading, share });
        let mut report = Report::new("Names", Vec::new());
        // An O with a dot below and a grave, as Yoruba writes it, has no character of its own.
        let name = "O\u{323}\u{300}".repeat(layout::WIDTH / 2);
        report.table(&columns, vec![vec![name, "Maker".to_owned()]], "none");
        let shown = pages(&report).concat();
        let composed = "\u{1ecc}\u{300}";
        let [.., first, _, second] = shown.as_slice() else {
            panic!("{shown:?}");
        };
        assert_eq!(*first, composed.repeat(layout::WIDTH / 2 - 1));
        assert_eq!(second, composed);
    }
}
