//! One device record of the GUDID, whatever its file's form.

use super::record::{MOST_UNITS, Problem, ProductRecord, RecordFault, add, fault, text};
use crate::catalogue::{LabelCarries, NewIdentifier, PackagingLevel, UseClass};
use lotwarden_codes::Agency;

/// A device record as its file says it, not checked; the fields carry GUDID's names.
#[derive(Debug, Default)]
pub(super) struct Device {
    pub(super) brand_name: String,
    pub(super) version_model_number: String,
    pub(super) catalog_number: String,
    pub(super) company_name: String,
    pub(super) device_description: String,
    pub(super) device_count: String,
    pub(super) version_status: String,
    pub(super) single_use: bool,
    pub(super) lot_batch: bool,
    pub(super) serial_number: bool,
    pub(super) expiration_date: bool,
    pub(super) identifiers: Vec<DeviceIdentifier>,
}

/// A device identifier as its file says it.
#[derive(Debug, Default)]
pub(super) struct DeviceIdentifier {
    pub(super) device_id: String,
    pub(super) kind: String,
    pub(super) agency: String,
    pub(super) contains: String,
    pub(super) quantity: String,
}

impl DeviceIdentifier {
    /// Whether a label carries it: the unit-of-use identifier stands on none, and often is the
    /// primary identifier of another record, that of the same device packed singly.
    fn on_a_label(&self) -> bool {
        self.kind != "Unit of Use"
    }
}

/// Packages inside packages at most.
const DEEPEST: usize = 8;
/// The longest name that is made of brand and description.
const LONGEST_NAME: usize = 200;

impl Device {
    /// The product it describes.
    ///
    /// # Errors
    /// The first field that cannot be used.
    pub(super) fn record(&self, line: u64) -> Result<ProductRecord, RecordFault> {
        if self.version_status == "Delete" {
            return Err(fault(line, "publicVersionStatus", Problem::Withdrawn));
        }
        let model = match self.version_model_number.trim() {
            "" => &self.catalog_number,
            model => model,
        };
        Ok(ProductRecord {
            line,
            name: self.name(line)?,
            maker: text(line, "companyName", &self.company_name, 200)?,
            model: text(line, "versionModelNumber", model, 200)?,
            kind: None,
            use_class: if self.single_use {
                UseClass::SingleUse
            } else {
                UseClass::Reusable
            },
            carries: LabelCarries {
                lot: self.lot_batch,
                serial: self.serial_number,
                expiry: self.expiration_date,
            },
            identifiers: self.identifiers(line)?,
        })
    }

    /// The description where it names the brand, else both while they are short.
    fn name(&self, line: u64) -> Result<String, RecordFault> {
        let brand = text(line, "brandName", &self.brand_name, 500)?;
        let description = text(
            line,
            "deviceDescription",
            &self.device_description,
            usize::MAX,
        )?;
        if brand.is_empty() && description.is_empty() {
            return Err(fault(line, "brandName", Problem::Missing));
        }
        let names_brand = description.to_lowercase().contains(&brand.to_lowercase());
        let long = match (brand.is_empty(), description.is_empty()) {
            (_, true) => brand.clone(),
            (true, false) => description.clone(),
            (false, false) if names_brand => description.clone(),
            (false, false) => format!("{brand}, {description}"),
        };
        Ok(if long.chars().count() <= LONGEST_NAME {
            long
        } else if brand.is_empty() {
            description.chars().take(LONGEST_NAME).collect()
        } else {
            brand
        })
    }

    fn identifiers(&self, line: u64) -> Result<Vec<NewIdentifier>, RecordFault> {
        let mut all = Vec::new();
        for identifier in self.identifiers.iter().filter(|i| i.on_a_label()) {
            let agency = agency(&identifier.agency)
                .map_err(|problem| fault(line, "deviceIdIssuingAgency", problem))?;
            let quantity = self.quantity(line, identifier, DEEPEST)?;
            let level = if identifier.kind == "Package" || quantity > 1 {
                PackagingLevel::Package
            } else {
                PackagingLevel::Unit
            };
            let read = NewIdentifier::read(agency, &identifier.device_id, level, quantity)
                .map_err(|problem| fault(line, "deviceId", problem))?;
            add(&mut all, read, (line, "deviceId"))?;
        }
        if all.is_empty() {
            return Err(fault(line, "identifiers", Problem::Missing));
        }
        Ok(all)
    }

    /// Devices in one package with the identifier: the base package holds `deviceCount` of them, a
    /// package so many of what it contains.
    fn quantity(
        &self,
        line: u64,
        identifier: &DeviceIdentifier,
        deepest: usize,
    ) -> Result<u32, RecordFault> {
        let field = "pkgQuantity";
        match identifier.kind.as_str() {
            "Unit of Use" | "Direct Marking" => Ok(1),
            "Package" => {
                let inside = self.content(line, identifier)?;
                let inside = match deepest {
                    0 => return Err(fault(line, "containsDINumber", unknown(identifier))),
                    _ => self.quantity(line, inside, deepest - 1)?,
                };
                let packages =
                    count(&identifier.quantity).ok_or(fault(line, field, Problem::NotACount))?;
                let units = packages
                    .checked_mul(inside)
                    .filter(|units| *units <= MOST_UNITS);
                units.ok_or(fault(line, field, Problem::NotACount))
            }
            // Primary, secondary and previous identifiers name the base package.
            _ => match self.device_count.trim() {
                "" => Ok(1),
                text => count(text).ok_or(fault(line, "deviceCount", Problem::NotACount)),
            },
        }
    }

    /// What a package contains; the base package where the record does not say.
    fn content(
        &self,
        line: u64,
        package: &DeviceIdentifier,
    ) -> Result<&DeviceIdentifier, RecordFault> {
        let mut others = self.identifiers.iter();
        let found = match package.contains.trim() {
            "" => others.find(|i| i.kind == "Primary"),
            inside => others.find(|i| i.device_id.trim() == inside),
        };
        found.ok_or(fault(line, "containsDINumber", unknown(package)))
    }
}

fn unknown(package: &DeviceIdentifier) -> Problem {
    Problem::UnknownContent(package.contains.clone())
}

fn agency(text: &str) -> Result<Agency, Problem> {
    match text.trim() {
        "NDC/NHRIC" => Ok(Agency::Ndc),
        name => name
            .parse()
            .map_err(|_| Problem::UnknownAgency(name.to_owned())),
    }
}

/// A number of units from 1 to the most there may be.
pub(super) fn count(text: &str) -> Option<u32> {
    let number: u32 = text.trim().parse().ok()?;
    (1..=MOST_UNITS).contains(&number).then_some(number)
}
