//! A small ledger of an invented facility, and its parcel.
use jiff::{SignedDuration, Timestamp};
use lotwarden_ledger::{
    Disclosure, Entry, Event, Hash, Head,
    parcel::{Attachments, EXPORT_ACTION, Header, ParcelWriter, SIGN_ACTION, SignatureLine},
};
use serde_json::{Value, json};
use uuid::Uuid;

pub const FACILITY: &str = "Larkfield Day Surgery";
const NURSE: &str = "person:7";

pub fn ledger() -> Uuid {
    Uuid::from_u128(0x0192_f0c4_7a10_7c3e_8f21_0a1b_2c3d_0001)
}

pub fn moment(second: i64) -> Timestamp {
    "2026-11-24T08:00:00.25Z".parse::<Timestamp>().unwrap() + SignedDuration::from_secs(second)
}

pub fn scan(number: u64) -> Event {
    let station = number.is_multiple_of(2).then(|| "station-3".to_owned());
    // Text that looks like members of the entry must not mislead anyone.
    let trap = format!(
        r#"\",\"position\":{number},\"previous\":\"{}"}}"#,
        "0".repeat(64)
    );
    let data = json!({
        "commitments": {"record_number": disclosure(number).digest()},
        "identifier": "09521234543213",
        "lot": format!("L{number:03}"),
        "scanned": trap,
        "verdict": "taken",
    });
    Event::new(
        "record_scan",
        NURSE,
        station,
        format!("case-\"{number}\""),
        &data,
    )
    .unwrap()
}

/// The record number that the scan of that number commits to.
pub fn disclosure(number: u64) -> Disclosure {
    let mut salt = [0x5a; 16];
    salt[0] = number as u8;
    Disclosure::new("record_number", format!("R-{number}"), salt)
}

pub fn record_hash() -> Hash {
    Hash::of(b"the signed record")
}

/// Entries 0 to `scans`-1 are scans, then comes a signature, then the export.
pub struct Sample {
    pub before: Head,
    pub entries: Vec<Entry>,
    pub head: Head,
    pub attachments: Attachments,
    pub disclosed: Vec<u64>,
}

impl Sample {
    pub fn new(scans: u64) -> Self {
        Self::after(&Head::empty(ledger()), scans)
    }

    pub fn after(before: &Head, scans: u64) -> Self {
        let mut head = before.clone();
        let mut entries = Vec::new();
        for number in before.size..before.size + scans {
            entries.push(head.append(&scan(number), moment(number as i64)).unwrap());
        }
        let position = head.size;
        let meaning = "performed and checked";
        let signed = json!({
            "meaning": meaning,
            "name": "Ines Okafor",
            "record_hash": record_hash(),
            "signature": "signature-1",
        });
        let signed = Event::new(SIGN_ACTION, NURSE, None, "case:1", &signed).unwrap();
        entries.push(head.append(&signed, moment(position as i64)).unwrap());
        let signature = SignatureLine {
            case: "1".to_owned(),
            id: "signature-1".to_owned(),
            meaning: meaning.to_owned(),
            name: "Ines Okafor".to_owned(),
            person: "7".to_owned(),
            position,
            record_hash: record_hash(),
            signed_at: moment(position as i64),
        };
        let cases = [
            json!({"id": "1", "room": "2"}),
            json!({"id": "2", "room": "4"}),
        ];
        let people: [Value; 1] = [json!({"id": "7", "name": "Ines Okafor"})];
        let attachments = Attachments::new(cases, [signature], people).unwrap();
        let export = attachments.export_data(FACILITY);
        let export = Event::new(EXPORT_ACTION, NURSE, None, "parcel-1", &export).unwrap();
        entries.push(head.append(&export, moment(position as i64 + 1)).unwrap());
        Self {
            before: before.clone(),
            entries,
            head,
            attachments,
            disclosed: vec![before.size, before.size + 2],
        }
    }

    pub fn parcel(&self) -> String {
        let header = Header::new(FACILITY, &self.before, &self.head).unwrap();
        let mut writer = ParcelWriter::new(Vec::new(), &header).unwrap();
        for entry in &self.entries {
            writer.entry(&entry.body).unwrap();
        }
        let disclosures = self.disclosed.len() as u64;
        let mut writer = writer.attachments(&self.attachments, disclosures).unwrap();
        for position in &self.disclosed {
            writer
                .disclosure(*position, &disclosure(*position))
                .unwrap();
        }
        String::from_utf8(writer.finish().unwrap()).unwrap()
    }
}

/// Gives the text a last line that fits, as a careful forger would.
pub fn reseal(text: &str) -> String {
    let before = &text[..text.rfind("\nend ").unwrap() + 1];
    format!("{before}end {}\n", Hash::of(before.as_bytes()))
}
