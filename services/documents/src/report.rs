//! Documents of headings, paragraphs, named values and tables as PDF: paginated, tagged, with a
//! footer on every page.

mod layout;
mod write;

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
    #[must_use]
    pub fn pdf(&self) -> Vec<u8> {
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
            layout.text(
                "A question mark in a square bracket, [?], stands for a character that the \
                 typeface of this document does not have.",
            );
        }
        write::document(&self.title, &self.footer, &layout)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn long(rows: usize) -> Vec<u8> {
        let mut report = Report::new("A list", vec!["Record 1".to_owned()]);
        let columns =
            [("Name", 3), ("Number", 1)].map(|(heading, share)| Column { heading, share });
        let rows = (0..rows).map(|row| vec![format!("Item {row}"), row.to_string()]);
        report.table(&columns, rows.collect(), "none");
        report.pdf()
    }

    fn shows(bytes: &[u8], text: &str) -> usize {
        let text = format!("({text})");
        let windows = bytes.windows(text.len());
        windows.filter(|part| *part == text.as_bytes()).count()
    }

    #[test]
    fn every_page_has_its_number_and_the_heading_of_the_table_that_goes_on() {
        let bytes = long(150);
        assert!(bytes.starts_with(b"%PDF-"));
        assert_eq!(shows(&bytes, "Page 1 of 3"), 1);
        assert_eq!(shows(&bytes, "Page 3 of 3"), 1);
        assert_eq!(shows(&bytes, "Record 1"), 3);
        assert_eq!(shows(&bytes, "Number"), 3);
        assert_eq!(shows(&bytes, "Item 149"), 1);
    }

    #[test]
    fn an_empty_table_says_so_and_takes_one_page() {
        let bytes = long(0);
        assert_eq!(shows(&bytes, "none"), 1);
        assert_eq!(shows(&bytes, "Page 1 of 1"), 1);
    }

    #[test]
    fn a_character_that_the_typeface_lacks_is_named() {
        let mut report = Report::new("Names", Vec::new());
        report.text("Zoë Žák");
        assert_eq!(shows(&report.pdf(), "[?]"), 0);
        report.text("Łucja");
        let bytes = report.pdf();
        assert_eq!(shows(&bytes, "[?]ucja"), 1);
    }
}
