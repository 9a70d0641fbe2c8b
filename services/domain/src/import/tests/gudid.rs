use super::*;
use std::io::BufReader;
use std::path::PathBuf;

/// A file of the reference data beside the project, or the reason why the test is skipped.
pub(super) fn reference(name: &str) -> Option<PathBuf> {
    let root = std::env::var_os("LOTWARDEN_REFERENCE").map_or_else(
        || {
            PathBuf::from(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../../shared/reference"
            ))
        },
        PathBuf::from,
    );
    let path = root.join(name);
    if path.exists() {
        return Some(path);
    }
    eprintln!("skipped: {} is not there", path.display());
    None
}

// 30,000 device records of the GUDID (openFDA, CC0). The raw file has 34,878 identifiers, 373 of
// them for units of use, which stand on no label.
#[test]
fn real_records_are_read_whole() {
    let Some(path) = reference("openfda/gudid_sample_30k.ndjson.gz") else {
        return;
    };
    let file = std::fs::File::open(path).unwrap();
    let reader = BufReader::new(flate2::read::GzDecoder::new(file));
    let mut all = Vec::new();
    read(Format::Gudid, reader, &mut |record| {
        all.push(record.unwrap());
        ControlFlow::Continue(())
    })
    .unwrap();
    assert_eq!(all.len(), 30_000);
    let identifiers = || all.iter().flat_map(|record| &record.identifiers);
    let gs1 = identifiers().filter(|i| i.code.agency == "gs1").count();
    assert_eq!(gs1, 34_251 - 373);
    assert_eq!(
        all.iter()
            .filter(|r| r.use_class == UseClass::SingleUse)
            .count(),
        28_652
    );
    assert_eq!(all.iter().filter(|r| r.carries.lot).count(), 28_282);
    assert_eq!(all.iter().filter(|r| r.carries.expiry).count(), 20_675);
    assert_eq!(all.iter().filter(|r| r.carries.serial).count(), 2_333);
    // A pack of six of the primary device: ["10803622125611","Package","GS1","00803622125614","6"].
    let package = identifiers()
        .find(|i| i.code.code == "10803622125611")
        .unwrap();
    assert_eq!(
        (package.level, package.quantity),
        (PackagingLevel::Package, 6)
    );
    assert!(identifiers().any(|i| !i.check_digit_right));
}

// The documented example of openFDA's device/udi end point; its "header" is one record.
#[test]
fn openfdas_own_example_is_read_in_every_wrapping() {
    let Some(path) = reference("openfda/example_device_udi.json") else {
        return;
    };
    let text = std::fs::read_to_string(path).unwrap();
    let example: serde_json::Value = serde_json::from_str(&text).unwrap();
    let record = &example["header"];
    let other = record
        .to_string()
        .replace("00887517567062", "09520123456788");
    let other: serde_json::Value = serde_json::from_str(&other).unwrap();
    for wrapped in [
        format!("{other}\n{record}\n"),
        format!("[{other},\n{record}]"),
        format!("{{\"meta\":{{\"limit\":2}},\"results\":[{other},{record}]}}"),
        serde_json::to_string_pretty(&serde_json::json!({"results": [other, record]})).unwrap(),
    ] {
        let read = records(Format::Gudid, &wrapped);
        assert_eq!(read.len(), 2, "{}", &wrapped[..40]);
        let device = read[1].as_ref().unwrap();
        assert_eq!(device.name, "CoRoent Ant TLIF PEEK, 16x13x28mm 4°");
        assert_eq!(device.maker, "Nuvasive, Inc.");
        assert_eq!(device.model, "5163284");
        assert_eq!(device.use_class, UseClass::Reusable);
        assert!(device.carries.lot && !device.carries.serial && !device.carries.expiry);
        assert_eq!(texts(device), [("gs1:00887517567062".to_owned(), 1)]);
    }
}

/// An invented device in the element names of `http://www.fda.gov/cdrh/gudid`, with the nesting of
/// the sample that openFDA's own tests read.
const XML: &str = r#"<?xml version="1.0" encoding="utf-8"?>
<gudid xmlns="http://www.fda.gov/cdrh/gudid">
  <device>
    <publicVersionStatus>New</publicVersionStatus>
    <identifiers>
      <identifier><deviceId>09520123456788</deviceId><deviceIdType>Primary</deviceIdType>
        <deviceIdIssuingAgency>GS1</deviceIdIssuingAgency><containsDINumber/><pkgQuantity/></identifier>
      <identifier><deviceId>29520123456782</deviceId><deviceIdType>Package</deviceIdType>
        <deviceIdIssuingAgency>GS1</deviceIdIssuingAgency>
        <containsDINumber>19520123456785</containsDINumber><pkgQuantity>4</pkgQuantity></identifier>
      <identifier><deviceId>19520123456785</deviceId><deviceIdType>Package</deviceIdType>
        <deviceIdIssuingAgency>GS1</deviceIdIssuingAgency>
        <containsDINumber>09520123456788</containsDINumber><pkgQuantity>10</pkgQuantity></identifier>
      <identifier><deviceId>A99912345</deviceId><deviceIdType>Secondary</deviceIdType>
        <deviceIdIssuingAgency>HIBCC</deviceIdIssuingAgency></identifier>
    </identifiers>
    <brandName>Breeze &amp; Flow</brandName>
    <versionModelNumber>BF&#45;2</versionModelNumber>
    <companyName><![CDATA[Kestrel <Surgical>]]></companyName>
    <deviceCount>2</deviceCount>
    <deviceDescription>Suction
      tubing</deviceDescription>
    <singleUse>true</singleUse><lotBatch>true</lotBatch>
    <serialNumber>false</serialNumber><expirationDate>true</expirationDate>
    <contacts><customerContact><phone>1</phone></customerContact></contacts>
  </device>
  <device><publicVersionStatus>Delete</publicVersionStatus></device>
  <device><singleUse>perhaps</singleUse></device>
</gudid>"#;

#[test]
fn xml_records_are_read_with_packages_inside_packages() {
    let read = records(Format::Gudid, XML);
    let device = read[0].as_ref().unwrap();
    assert_eq!(device.name, "Breeze & Flow, Suction       tubing");
    assert_eq!(device.model, "BF-2");
    assert_eq!(device.maker, "Kestrel <Surgical>");
    assert_eq!(
        texts(device),
        [
            ("gs1:09520123456788".to_owned(), 2),
            ("gs1:29520123456782".to_owned(), 80),
            ("gs1:19520123456785".to_owned(), 20),
            ("hibcc:A99912345".to_owned(), 2),
        ]
    );
    assert_eq!(
        faults(&read),
        [
            "line 27, publicVersionStatus: the record is withdrawn",
            "line 28, singleUse: neither true nor false",
        ]
    );
}

#[test]
fn a_bad_line_does_not_stop_the_next() {
    let good = r#"{"ids":[["09520123456788","Primary","GS1"]],"brand":"Tube","model":"1","company":"K","count":"1","su":true}"#;
    let package = |contains: &str, quantity: &str| {
        format!(
            r#"{{"ids":[["09520123456788","Primary","GS1"],["19520123456785","Package","GS1","{contains}","{quantity}","x"]],"brand":"Tube"}}"#
        )
    };
    let lines = [
        good.to_owned(),
        good[..40].to_owned(),
        package("09520123456795", "5"),
        package("19520123456785", "5"),
        package("09520123456788", "0"),
        String::new(),
        r#"{"ids":[],"brand":"Tube"}"#.to_owned(),
        r#"{"ids":[["09520123456788","Unit of Use","GS1"]],"brand":"Tube"}"#.to_owned(),
        r#"{"ids":[["09520123456788","Primary","EAN"]],"brand":"Tube"}"#.to_owned(),
        r#"{"ids":[["09520123456788","Primary","GS1"]],"brand":"","desc":""}"#.to_owned(),
        good.replace("09520123456788", "09520123456795"),
    ];
    let read = records(Format::Gudid, &lines.join("\n"));
    assert_eq!(
        faults(&read),
        [
            "line 2, record: not a JSON object",
            "line 3, containsDINumber: a package of \"09520123456795\", which the record does not describe",
            "line 4, containsDINumber: a package of \"19520123456785\", which the record does not describe",
            "line 5, pkgQuantity: not a whole number from 1 to 1000000",
            "line 7, identifiers: missing",
            "line 8, identifiers: missing",
            "line 9, deviceIdIssuingAgency: the agency \"EAN\" is none whose codes are known",
            "line 10, brandName: missing",
        ]
    );
    assert_eq!(read.len(), 10);
    assert_eq!(read[9].as_ref().unwrap().line, 11);
}

#[test]
fn a_document_that_breaks_says_where() {
    let broken = |text: &str| {
        let fault = read(Format::Gudid, text.as_bytes(), &mut |_| {
            ControlFlow::Continue(())
        });
        fault.unwrap_err().to_string()
    };
    let json = "the file is no whole JSON document: it breaks at line";
    assert_eq!(broken("[\n{\"ids\":[]},\n{\"ids\""), format!("{json} 3"));
    assert!(broken("<gudid>\n<device>").contains("XML document: it breaks at line 2"));
}

#[test]
fn an_object_without_results_is_one_record() {
    let read = records(Format::Gudid, "{\n\"something\": 1\n}");
    assert_eq!(faults(&read), ["line 3, brandName: missing"]);
}

#[test]
fn reading_stops_when_no_more_is_wanted() {
    let text = r#"[{"ids":[]},{"ids":[]}]"#;
    let mut count = 0;
    read(Format::Gudid, text.as_bytes(), &mut |_| {
        count += 1;
        ControlFlow::Break(())
    })
    .unwrap();
    assert_eq!(count, 1);
}
