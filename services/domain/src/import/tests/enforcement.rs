use super::super::{NoticeRecord, NoticeStatus, RecallClass, read_notices};
use super::gudid::reference;
use crate::import::RecordFault;
use crate::notices;
use jiff::civil::date;
use std::io::BufReader;
use std::ops::ControlFlow;

type Read = Vec<Result<NoticeRecord, RecordFault>>;

fn notices_of(bytes: &[u8]) -> Read {
    let mut all = Read::new();
    read_notices(bytes, &mut |record| {
        all.push(record);
        ControlFlow::Continue(())
    })
    .unwrap();
    all
}

// Z-2308-2026 of openFDA (CC0), shortened.
const DEVICE: &str = r#"{
"status":"Ongoing","classification":"Class II","openfda":{},"product_type":"Devices",
"event_id":"98773","recalling_firm":"Grace Medical, Inc.","recall_number":"Z-2308-2026","product_quantity":"7",
"product_description":"TITANIUM/FLUOROPLASTIC PISTON 0.6MM DIA X 3.75MM L","reason_for_recall":"Due to incorrect functional length on device labeling.",
"recall_initiation_date":"20260403","center_classification_date":"20260604","report_date":"20260610",
"code_info":"Model/Catalog Number: 409-375 UDI code: (01)00844505000772(10)122927(17)310301 Lot Number: 122927","more_code_info":""}"#;

#[test]
fn a_record_alone_in_a_list_and_in_openfdas_answer_is_the_same() {
    let line = DEVICE.replace('\n', "");
    for wrapped in [
        DEVICE.to_owned(),
        line.clone(),
        format!("{line}\n\n{line}\n"),
        format!("[{line},\n{line}]"),
        format!("{{\"meta\":{{\"limit\":2}},\"results\":[{line},{line}]}}"),
        format!("{{\n \"results\": [{line}], \"meta\": {{}}}}"),
    ] {
        let read = notices_of(wrapped.as_bytes());
        let record = read[0].as_ref().unwrap();
        assert_eq!(record.recall_number.as_deref(), Some("Z-2308-2026"));
        assert_eq!(record.event_id.as_deref(), Some("98773"));
        assert_eq!(record.firm, "Grace Medical, Inc.");
        assert_eq!(record.class, Some(RecallClass::Two));
        assert_eq!(record.status, Some(NoticeStatus::Ongoing));
        assert_eq!(record.initiated_on, Some(date(2026, 4, 3)));
        assert_eq!(record.classified_on, Some(date(2026, 6, 4)));
        assert_eq!(record.reported_on, Some(date(2026, 6, 10)));
        assert_eq!(record.terminated_on, None);
        assert!(record.codes.ends_with("Lot Number: 122927"));
    }
}

#[test]
fn a_fault_names_its_line_and_field_and_the_next_record_is_read() {
    let line = DEVICE.replace('\n', "");
    let text = [
        line.replace("Class II", "Class IV"),
        line.replace("20260403", "20261332"),
        line.replace("Grace Medical, Inc.", " "),
        line.replace("Ongoing", "Resting"),
        "[1]".to_owned(),
        line.replace("\"openfda\":{}", "\"openfda\":{\"upc\":[true]}"),
        line,
    ];
    let read = notices_of(text.join("\n").as_bytes());
    let faults: Vec<_> = read
        .iter()
        .filter_map(|r| r.as_ref().err())
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        faults,
        [
            "line 1, classification: not a recall class: use one of I, II, III",
            "line 2, recall_initiation_date: not a date: write it as 20251231 or 2025-12-31",
            "line 3, recalling_firm: missing",
            "line 4, status: not a recall status: use one of pending, ongoing, completed, terminated",
            "line 5, record: not a JSON object",
            "line 6, openfda: not a list of texts",
        ]
    );
    assert!(read[6].is_ok());
}

// D-0289-2026 of openFDA (CC0): its package_ndc holds a UPC without check digit beside the NDC.
#[test]
fn what_openfda_adds_is_resolved_as_far_as_its_form_is_known() {
    let openfda = r#""openfda":{"product_ndc":["62795-4006"],"package_ndc":["62795-4006-9","7876471018"],"upc":["0818204025725","818204025725"]}"#;
    let text = DEVICE.replace("\"openfda\":{}", openfda);
    let read = notices_of(text.as_bytes());
    let record = read[0].as_ref().unwrap();
    let codes: Vec<_> = record.identifiers.iter().map(ToString::to_string).collect();
    // 62795-4006-9 is 5-4-1: twelve digits 6-4-2 (91 FR 10749), and inside GTIN 003 62795 4006 9 with check digit 5.
    assert_eq!(
        codes,
        [
            "gs1:00362795400695",
            "gs1:00818204025725",
            "ndc:062795400609"
        ]
    );
    assert_eq!(record.unresolved, ["7876471018", "62795-4006"]);
}

#[test]
fn openfdas_examples_are_read_as_they_are() {
    let Some(path) = reference("openfda/enforcement_examples.json") else {
        return;
    };
    let read = notices_of(&std::fs::read(path).unwrap());
    let records: Vec<_> = read.iter().map(|record| record.as_ref().unwrap()).collect();
    let numbers: Vec<_> = records.iter().map(|r| r.recall_number.as_deref()).collect();
    assert_eq!(
        numbers,
        [
            None,
            None,
            Some("D-0115-2026"),
            Some("D-0247-2026"),
            Some("D-0289-2026")
        ]
    );
    // The drug example's dates have hyphens.
    assert_eq!(records[1].initiated_on, Some(date(2013, 2, 19)));
    assert_eq!(records[1].class, Some(RecallClass::Three));
    let today = date(2026, 11, 24);
    let lots = |record: &NoticeRecord| -> usize {
        let read = notices::read(&record.codes, today);
        read.proposals.iter().map(|p| p.lots.len()).sum()
    };
    assert_eq!(
        records.iter().map(|r| lots(r)).collect::<Vec<_>>(),
        [1, 5, 3, 1, 0]
    );
    for name in [
        "openfda/example_device_enforcement.json",
        "openfda/example_drug_enforcement.json",
    ] {
        let Some(path) = reference(name) else { return };
        let read = notices_of(&std::fs::read(path).unwrap());
        assert_eq!(read.len(), 1, "{name}");
        assert!(read[0].is_ok(), "{:?}", read[0]);
    }
}

#[test]
fn a_compressed_bulk_file_is_read_record_by_record() {
    let records: Vec<_> = (0..500).map(|_| DEVICE.replace('\n', "")).collect();
    let text = format!("{{\"meta\":{{}},\"results\":[{}]}}", records.join(",\n"));
    let mut file = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    std::io::Write::write_all(&mut file, text.as_bytes()).unwrap();
    let file = file.finish().unwrap();
    let reader = BufReader::new(flate2::read::GzDecoder::new(file.as_slice()));
    let mut lines = Vec::new();
    read_notices(reader, &mut |record| {
        lines.push(record.unwrap().line);
        if lines.len() == 400 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })
    .unwrap();
    assert_eq!(lines.len(), 400);
    assert!(lines.is_sorted());
}
