//! A catalogue as a table: a header line, then one row for each identifier of a product.

use super::device::count;
use super::record::{Problem, ProductRecord, RecordFault, add, fault, text};
use super::{FileFault, Take};
use crate::catalogue::{LabelCarries, NewIdentifier, PackagingLevel, ProductKind, UseClass};
use csv::{ErrorKind, ReaderBuilder, StringRecord, Trim};
use lotwarden_codes::Agency;
use std::collections::HashMap;
use std::io::BufRead;

/// Every column with its meaning; the first four have to be there.
///
/// Rows that agree in `product`, or without it in name, maker and model, are one product.
pub const COLUMNS: [(&str, &str); 13] = [
    ("name", "the product's name"),
    (
        "use_class",
        "single_use, reusable or reprocessed_single_use",
    ),
    (
        "agency",
        "who issued the codes of the row: gs1, hibcc, iccbba, ifa or ndc",
    ),
    ("code", "an identifier of one unit of use"),
    ("product", "joins the rows of one product; any text"),
    ("maker", "who makes it"),
    ("model", "the maker's model, version or catalogue number"),
    (
        "kind",
        "what it is, in one of the words for kinds; other unless told",
    ),
    ("package_code", "an identifier of a package"),
    ("package_quantity", "units of use in that package"),
    ("carries_lot", "true when the label has to carry a lot"),
    (
        "carries_serial",
        "true when the label has to carry a serial",
    ),
    (
        "carries_expiry",
        "true when the label has to carry an expiry date",
    ),
];
/// The first columns have to be there.
const REQUIRED: usize = 4;

/// Reads all rows, joins them and hands on one product after the other.
pub(super) fn read(reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let mut reader = ReaderBuilder::new().trim(Trim::All).from_reader(reader);
    let header = header(reader.headers().map_err(broken)?)?;
    // In the order of the file; a product stands where its first row does.
    let mut groups: Vec<Result<ProductRecord, RecordFault>> = Vec::new();
    let mut keys: HashMap<Vec<String>, (usize, u64)> = HashMap::new();
    for row in reader.records() {
        let cells = match row {
            Ok(cells) => cells,
            Err(error) => {
                groups.push(Err(malformed(error)?));
                continue;
            }
        };
        let line = cells.position().map_or(0, csv::Position::line);
        let row = Row {
            line,
            cells: &cells,
            header: &header,
        };
        match keys.get(&row.key()) {
            None => {
                keys.insert(row.key(), (groups.len(), line));
                groups.push(row.product());
            }
            Some((at, first)) => {
                if let Some(Ok(product)) = groups.get_mut(*at)
                    && let Err(fault) = row.join(product, *first)
                {
                    groups[*at] = Err(fault);
                }
            }
        }
    }
    for group in groups {
        if take(group).is_break() {
            break;
        }
    }
    Ok(())
}

/// The place of each column in the file.
type Header = [Option<usize>; COLUMNS.len()];

fn header(names: &StringRecord) -> Result<Header, FileFault> {
    let mut header = [None; COLUMNS.len()];
    for (place, name) in names.iter().enumerate() {
        let name = name.trim_start_matches('\u{feff}');
        let at = COLUMNS.iter().position(|(known, _)| *known == name);
        let at = at.ok_or_else(|| FileFault::ColumnUnknown(name.to_owned()))?;
        header[at] = Some(place);
    }
    for (at, (name, _)) in COLUMNS.iter().enumerate().take(REQUIRED) {
        if header[at].is_none() {
            return Err(FileFault::ColumnMissing(name));
        }
    }
    Ok(header)
}

fn broken(error: csv::Error) -> FileFault {
    let line = error.position().map_or(1, csv::Position::line);
    match error.into_kind() {
        ErrorKind::Io(error) => FileFault::Io(error),
        _ => FileFault::Broken { form: "CSV", line },
    }
}

/// A row that is none; another fault ends the reading.
fn malformed(error: csv::Error) -> Result<RecordFault, FileFault> {
    let what = match error.kind() {
        ErrorKind::UnequalLengths { .. } => "row with as many cells as the header line",
        ErrorKind::Utf8 { .. } => "row of UTF-8 text",
        _ => return Err(broken(error)),
    };
    let line = error.position().map_or(0, csv::Position::line);
    Ok(fault(line, "row", Problem::Malformed(what)))
}

struct Row<'a> {
    line: u64,
    cells: &'a StringRecord,
    header: &'a Header,
}

impl Row<'_> {
    fn cell(&self, name: &str) -> &str {
        let at = COLUMNS.iter().position(|(known, _)| *known == name);
        at.and_then(|at| self.cells.get(self.header[at]?))
            .unwrap_or_default()
    }

    fn key(&self) -> Vec<String> {
        match self.cell("product") {
            "" => ["name", "maker", "model"]
                .map(|name| self.cell(name).to_owned())
                .into(),
            product => vec![product.to_owned()],
        }
    }

    /// The product that the first of its rows describes.
    fn product(&self) -> Result<ProductRecord, RecordFault> {
        let name = text(self.line, "name", self.cell("name"), 500)?;
        if name.is_empty() {
            return Err(fault(self.line, "name", Problem::Missing));
        }
        let use_class: Option<UseClass> = self.word("use_class")?;
        let mut product = ProductRecord {
            line: self.line,
            name,
            maker: text(self.line, "maker", self.cell("maker"), 200)?,
            model: text(self.line, "model", self.cell("model"), 200)?,
            kind: self.word("kind")?,
            use_class: use_class.ok_or(fault(self.line, "use_class", Problem::Missing))?,
            carries: LabelCarries {
                lot: self.flag("carries_lot")?.unwrap_or_default(),
                serial: self.flag("carries_serial")?.unwrap_or_default(),
                expiry: self.flag("carries_expiry")?.unwrap_or_default(),
            },
            identifiers: Vec::new(),
        };
        self.identify(&mut product)?;
        Ok(product)
    }

    /// Joins a further row; a cell that is empty or says the same changes nothing.
    fn join(&self, product: &mut ProductRecord, first: u64) -> Result<(), RecordFault> {
        let kind: Option<ProductKind> = self.word("kind")?;
        let use_class: Option<UseClass> = self.word("use_class")?;
        let carries = &product.carries;
        let differs = [
            ("name", self.says_other("name", &product.name)),
            ("maker", self.says_other("maker", &product.maker)),
            ("model", self.says_other("model", &product.model)),
            ("kind", kind.is_some() && kind != product.kind),
            (
                "use_class",
                use_class.is_some_and(|c| c != product.use_class),
            ),
            (
                "carries_lot",
                self.flag("carries_lot")?.is_some_and(|c| c != carries.lot),
            ),
            (
                "carries_serial",
                self.flag("carries_serial")?
                    .is_some_and(|c| c != carries.serial),
            ),
            (
                "carries_expiry",
                self.flag("carries_expiry")?
                    .is_some_and(|c| c != carries.expiry),
            ),
        ];
        if let Some((field, _)) = differs.into_iter().find(|(_, differs)| *differs) {
            return Err(fault(self.line, field, Problem::DiffersFromLine(first)));
        }
        self.identify(product)?;
        product.line = self.line;
        Ok(())
    }

    fn says_other(&self, name: &str, known: &str) -> bool {
        let cell = self.cell(name);
        !cell.is_empty() && cell != known
    }

    fn identify(&self, product: &mut ProductRecord) -> Result<(), RecordFault> {
        let (code, package) = (self.cell("code"), self.cell("package_code"));
        if code.is_empty() && package.is_empty() {
            return Err(fault(self.line, "code", Problem::Missing));
        }
        let agency = self.agency()?;
        if !code.is_empty() {
            self.read(product, agency, ("code", code), (PackagingLevel::Unit, 1))?;
        }
        if !package.is_empty() {
            let units = count(self.cell("package_quantity")).ok_or(fault(
                self.line,
                "package_quantity",
                Problem::NotACount,
            ))?;
            let packaging = (PackagingLevel::Package, units);
            self.read(product, agency, ("package_code", package), packaging)?;
        }
        Ok(())
    }

    fn read(
        &self,
        product: &mut ProductRecord,
        agency: Agency,
        (field, code): (&'static str, &str),
        (level, quantity): (PackagingLevel, u32),
    ) -> Result<(), RecordFault> {
        let read = NewIdentifier::read(agency, code, level, quantity)
            .map_err(|problem| fault(self.line, field, problem))?;
        add(&mut product.identifiers, read, (self.line, field))
    }

    fn agency(&self) -> Result<Agency, RecordFault> {
        match self.cell("agency") {
            "" => Err(fault(self.line, "agency", Problem::Missing)),
            name => name
                .parse()
                .map_err(|_| fault(self.line, "agency", Problem::UnknownAgency(name.to_owned()))),
        }
    }

    fn word<T: std::str::FromStr<Err = crate::NotAWord>>(
        &self,
        field: &'static str,
    ) -> Result<Option<T>, RecordFault> {
        match self.cell(field) {
            "" => Ok(None),
            word => word
                .parse()
                .map(Some)
                .map_err(|no| fault(self.line, field, no)),
        }
    }

    fn flag(&self, field: &'static str) -> Result<Option<bool>, RecordFault> {
        match self.cell(field).to_ascii_lowercase().as_str() {
            "" => Ok(None),
            "true" | "yes" | "1" => Ok(Some(true)),
            "false" | "no" | "0" => Ok(Some(false)),
            _ => Err(fault(self.line, field, Problem::NotAFlag)),
        }
    }
}
