use super::*;
use proptest::prelude::*;
use std::time::{Duration, Instant};

const PIECES: &[&str] = &[
    "Lot",
    "Lots",
    "#",
    ":",
    ",",
    ";",
    "\n",
    " ",
    " ",
    " ",
    "(",
    ")",
    "-",
    "/",
    ".",
    "’s",
    "Serial numbers",
    "Exp",
    "Exp.",
    "Expiration Date",
    "12/25",
    "2025-12-31",
    "31-Mar-2013",
    "November 4, 2025",
    "A123",
    "12345",
    "HW001-HW3827",
    "through",
    "to",
    "and",
    "below",
    "All",
    "all lots",
    "except",
    "begin with",
    "may be followed by",
    "(01)",
    "(01)09521400010204",
    "(10)AB",
    "(17)271231",
    "UDI-DI",
    "09521400010204",
    "NDC",
    "12345-678-90",
    "UPC",
    "+H123AB450X",
    "Catalog",
    "REF",
    "a)",
    "(b)",
    "2)",
    "50mg",
    "1,000 tablets",
    "vial",
    "manufactured",
    "between",
    "é",
    "💉",
    "\u{a0}",
    "Lot/",
    "Lot/Serial",
    "N/A",
    "0",
    "(1",
    "–",
    "*",
    "'",
    "=",
    "\t",
];

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        prop::collection::vec(prop::sample::select(PIECES), 0..40)
            .prop_map(|pieces| pieces.concat()),
        prop::collection::vec(prop::sample::select(PIECES), 0..40)
            .prop_map(|pieces| pieces.join(" ")),
    ]
}

fn characters(text: &str, span: Span) -> String {
    text.chars().skip(span.at).take(span.to - span.at).collect()
}

fn spans(reading: &Reading) -> Vec<Span> {
    let mut all = Vec::new();
    for proposal in &reading.proposals {
        all.extend(proposal.lots.iter().map(|f| f.span));
        all.extend(proposal.serials.iter().map(|f| f.span));
        all.extend(proposal.ranges.iter().map(|f| f.span));
        all.extend(proposal.identifiers.iter().map(|f| f.span));
        all.extend(proposal.catalogue_numbers.iter().map(|f| f.span));
        all.extend(proposal.expiry.iter().map(|f| f.span));
        all.extend(proposal.all);
    }
    all.extend(reading.unread.iter().map(|f| f.span));
    all
}

proptest! {
    #[test]
    fn any_text_is_read_and_every_span_lies_in_it(text in text()) {
        let reading = read(&text, TODAY);
        let length = text.chars().count();
        for span in spans(&reading) {
            prop_assert!(span.at < span.to && span.to <= length, "{span:?} of {length}");
        }
        for piece in &reading.unread {
            prop_assert_eq!(&characters(&text, piece.span), &piece.value);
        }
    }

    #[test]
    fn a_list_of_lots_reads_back_whole_and_in_its_order(
        lots in prop::collection::vec("[A-Z]{1,2}[0-9]{4,6}[A-Z]?", 1..20),
        separator in prop::sample::select(&[", ", "; ", "\n", " ", " and ", ",\n", " & "][..]),
        label in prop::sample::select(&["Lot #: ", "Lots ", "Batch Nos.: ", "LOT NUMBERS: ", "Lot(s): "][..]),
        end in prop::sample::select(&["", ".", ", Exp 12/2027", " (see letter)"][..]),
    ) {
        let mut lots = lots;
        lots.sort();
        lots.dedup();
        let text = format!("{label}{}{end}", lots.join(separator));
        let reading = read(&text, TODAY);
        let read: Vec<_> = reading.proposals.iter().flat_map(|p| &p.lots).collect();
        prop_assert_eq!(read.iter().map(|f| &f.value).collect::<Vec<_>>(), lots.iter().collect::<Vec<_>>());
        for lot in read {
            prop_assert_eq!(&characters(&text, lot.span), &lot.value);
        }
    }

    // A notice that says more never names fewer lots of its list.
    #[test]
    fn words_behind_a_list_take_no_lot_away(
        lots in prop::collection::vec("[A-Z]{2}[0-9]{5}", 1..8), tail in text(),
    ) {
        let text = format!("Lot numbers: {};\n{tail}", lots.join(", "));
        let reading = read(&text, TODAY);
        let read: Vec<_> = reading.proposals.iter().flat_map(|p| &p.lots).map(|f| &f.value).collect();
        for lot in &lots {
            prop_assert!(read.contains(&lot), "{lot} of {text:?}");
        }
    }
}

// A quadratic reader would need hours for these; 60 seconds leave room for a busy machine.
#[test]
fn long_texts_take_time_in_proportion() {
    let patterns = [
        "Lot 1-2, ",
        "(",
        "(10)",
        "(01)0952140001020",
        "a) Lot A1 ",
        "All lots ",
        "1 to 2 to ",
        "Lot/",
        "Exp ",
        "12/25 ",
        "1-",
        "A",
        "Lot 12 may be followed by 1. ",
        "NDC 12345-678-90, ",
        "UPC 1 2 ",
        "1,000,",
        "except ",
        "Lot 5, Exp 1/25, 2/25, ",
    ];
    let begun = Instant::now();
    for pattern in patterns {
        let text = pattern.repeat(200_000 / pattern.len());
        assert!(read(&text, TODAY).unread.len() <= text.len());
    }
    let many: String = (0..20_000)
        .map(|n| format!("NDC {n:05}-678-90, "))
        .collect();
    let lots: String = (0..20_000)
        .map(|n| format!("Lot A{n}, Exp {}/2{}; ", n % 12 + 1, n % 10))
        .collect();
    let reading = read(&format!("{many}{lots}"), TODAY);
    let read_lots: usize = reading.proposals.iter().map(|p| p.lots.len()).sum();
    assert_eq!(read_lots, 20_000);
    let paragraphs: String = (0..20_000).map(|n| format!("a) Lot A{n} ")).collect();
    assert_eq!(
        read(&format!("{many}{paragraphs}"), TODAY).proposals.len(),
        20_000
    );
    assert!(
        begun.elapsed() < Duration::from_secs(60),
        "{:?}",
        begun.elapsed()
    );
}
