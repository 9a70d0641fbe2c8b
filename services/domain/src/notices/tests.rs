use super::*;
use jiff::civil::{Date, date};

mod made_up;
mod matching;
mod properties;
mod real_texts;
mod reference;

const TODAY: Date = date(2026, 11, 24);

/// A proposal on one line: lots, serials, ranges, identifiers, catalogue numbers, expiry, all.
fn line(proposal: &Proposal) -> String {
    let list = |name: &str, found: &[Found<String>]| {
        let values: Vec<_> = found.iter().map(|f| f.value.as_str()).collect();
        (!values.is_empty()).then(|| format!("{name} {}", values.join(", ")))
    };
    let ranges: Vec<_> = proposal.ranges.iter().map(|f| range(&f.value)).collect();
    let expiry = proposal.expiry.as_ref().map(|f| match f.value {
        Expiry {
            printed: Some(printed),
            ..
        } => format!("exp {printed}"),
        Expiry { from, to, .. } => format!("exp {}..{}", day(from), day(to)),
    });
    let parts = [
        list("lots", &proposal.lots),
        list("serials", &proposal.serials),
        (!ranges.is_empty()).then(|| ranges.join(", ")),
        list("ids", &proposal.identifiers),
        list("cat", &proposal.catalogue_numbers),
        expiry,
        proposal.all.map(|_| "all".to_owned()),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" | ")
}

fn range(range: &Range) -> String {
    let of = match range.of() {
        Of::Lot => "lot",
        Of::Serial => "serial",
    };
    match range {
        Range::Between { from, to, .. } => {
            let end = |end: &Option<String>| end.clone().unwrap_or_default();
            format!("{of} {}..{}", end(from), end(to))
        }
        Range::BeginsWith { start, .. } => format!("{of} {start}*"),
    }
}

fn day(day: Option<Date>) -> String {
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// A text, its proposals, and what stays unread.
type Row = (
    &'static str,
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
);

fn check(rows: &[Row]) {
    for (source, text, proposals, unread) in rows {
        let reading = read(text, TODAY);
        let lines: Vec<_> = reading.proposals.iter().map(line).collect();
        assert_eq!(lines, *proposals, "{source}: {text}");
        let pieces: Vec<_> = reading.unread.iter().map(|f| f.value.as_str()).collect();
        assert_eq!(pieces, *unread, "{source}: {text}");
    }
}

// Spans count characters, not bytes: Ü is one.
#[test]
fn the_json_has_plain_lists_and_the_spans_beside_them() {
    let text = "Ü Lots A1, B2 to B9, Exp 10/2025; Ref 5-5; serial no. X7";
    let json = serde_json::to_value(read(text, TODAY)).unwrap();
    let first = &json["proposals"][0];
    assert_eq!(first["lots"], serde_json::json!(["A1"]));
    assert_eq!(
        first["ranges"],
        serde_json::json!([{"of": "lot", "from": "B2", "to": "B9"}])
    );
    assert_eq!(
        first["expiry"],
        serde_json::json!({"on": "2025-10", "from": "2025-10-01", "to": "2025-10-31"})
    );
    assert_eq!(first["catalogue_numbers"], serde_json::json!(["5-5"]));
    assert_eq!(first["identifiers"], serde_json::json!([]));
    assert_eq!(first["all"], false);
    assert_eq!(
        first["spans"][0],
        serde_json::json!({"field": "lots", "index": 0, "at": 7, "to": 9})
    );
    let second = &json["proposals"][1];
    assert_eq!(second["serials"], serde_json::json!(["X7"]));
    assert_eq!(second["expiry"], serde_json::json!({}));
    assert_eq!(json["unread"], serde_json::json!(["Ü"]));
    assert_eq!(json["unread_spans"], serde_json::json!([[0, 1]]));
}
