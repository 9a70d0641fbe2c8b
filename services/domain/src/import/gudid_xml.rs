//! Device records as the GUDID's own XML (`http://www.fda.gov/cdrh/gudid`).

use super::device::{Device, DeviceIdentifier};
use super::lines::Counted;
use super::record::{Problem, RecordFault, fault};
use super::{FileFault, Take};
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::Event;
use std::io::BufRead;

/// Reads every `device` element until the end of the file.
pub(super) fn read(reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let (reader, line) = Counted::new(reader);
    let mut reader = Reader::from_reader(reader);
    let mut element = Element::default();
    let mut buffer = Vec::new();
    loop {
        let broken = || FileFault::Broken {
            form: "XML",
            line: line.number(),
        };
        let event = reader
            .read_event_into(&mut buffer)
            .map_err(|error| match error {
                quick_xml::Error::Io(error) => FileFault::Io(std::io::Error::other(error)),
                _ => broken(),
            })?;
        match event {
            Event::Start(start) => {
                element.open(start.local_name().as_ref().to_owned());
            }
            Event::End(_) => {
                if let Some(device) = element.close(line.number()) {
                    let record = device.and_then(|device| device.record(line.number()));
                    if take(record).is_break() {
                        return Ok(());
                    }
                }
            }
            Event::Text(text) => element.text.push_str(&text),
            Event::CData(text) => element.text.push_str(&text),
            Event::GeneralRef(entity) => match entity.resolve_char_ref() {
                Ok(Some(character)) => element.text.push(character),
                _ => {
                    let text = resolve_predefined_entity(&entity).ok_or_else(broken)?;
                    element.text.push_str(text);
                }
            },
            Event::Eof if element.path.is_empty() => return Ok(()),
            Event::Eof => return Err(broken()),
            _ => {}
        }
        buffer.clear();
    }
}

/// The element being read, with the record it belongs to.
#[derive(Default)]
struct Element {
    /// Names of the open elements inside the record.
    path: Vec<String>,
    text: String,
    device: Option<Device>,
    fault: Option<RecordFault>,
}

impl Element {
    fn open(&mut self, name: String) {
        match name.as_str() {
            "device" => self.device = Some(Device::default()),
            "identifier" => {
                if let Some(device) = &mut self.device {
                    device.identifiers.push(DeviceIdentifier::default());
                }
            }
            _ => {}
        }
        self.path.push(name);
        self.text.clear();
    }

    /// Keeps a closed element's text; gives the record when it was the record's own.
    fn close(&mut self, line: u64) -> Option<Result<Device, RecordFault>> {
        let text = std::mem::take(&mut self.text);
        let name = self.path.pop()?;
        if name == "device" {
            let device = self.device.take()?;
            return Some(self.fault.take().map_or(Ok(device), Err));
        }
        let device = self.device.as_mut()?;
        let inside = self.path.last().map(String::as_str);
        let kept = match inside {
            Some("device") => keep(device, &name, text),
            Some("identifier") => {
                keep_identifier(device.identifiers.last_mut()?, &name, text);
                Ok(())
            }
            _ => Ok(()),
        };
        if let Err(field) = kept {
            self.fault
                .get_or_insert_with(|| fault(line, field, Problem::NotAFlag));
        }
        None
    }
}

fn keep(device: &mut Device, name: &str, text: String) -> Result<(), &'static str> {
    let field = match name {
        "brandName" => &mut device.brand_name,
        "versionModelNumber" => &mut device.version_model_number,
        "catalogNumber" => &mut device.catalog_number,
        "companyName" => &mut device.company_name,
        "deviceDescription" => &mut device.device_description,
        "deviceCount" => &mut device.device_count,
        "publicVersionStatus" => &mut device.version_status,
        "singleUse" => return flag(&mut device.single_use, "singleUse", &text),
        "lotBatch" => return flag(&mut device.lot_batch, "lotBatch", &text),
        "serialNumber" => return flag(&mut device.serial_number, "serialNumber", &text),
        "expirationDate" => return flag(&mut device.expiration_date, "expirationDate", &text),
        _ => return Ok(()),
    };
    *field = text;
    Ok(())
}

fn flag(flag: &mut bool, field: &'static str, text: &str) -> Result<(), &'static str> {
    *flag = match text.trim() {
        "true" => true,
        "false" | "" => false,
        _ => return Err(field),
    };
    Ok(())
}

fn keep_identifier(identifier: &mut DeviceIdentifier, name: &str, text: String) {
    match name {
        "deviceId" => identifier.device_id = text,
        "deviceIdType" => identifier.kind = text,
        "deviceIdIssuingAgency" => identifier.agency = text,
        "containsDINumber" => identifier.contains = text,
        "pkgQuantity" => identifier.quantity = text,
        _ => {}
    }
}
