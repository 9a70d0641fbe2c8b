//! A label without escapes is read without touching the heap.

use jiff::civil::date;
use lotwarden_codes::{Context, read};

#[test]
fn reading_a_label_allocates_nothing() {
    let today = Context::new(date(2026, 11, 24));
    // FDA "UDI formats by FDA-accredited issuing agency" 1.3 (GS1), ANSI/HIBC 2.6 2.3.2.4,
    // ICCBBA ST-017 section 5, IFA PPN specification, openFDA drug NDC example.
    let labels = [
        "]d2015102222223333611141231171507071 0A213B1".replace(' ', ""),
        "]d201095201234567881727123110ABC123\u{1d}21SN0001".to_owned(),
        "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234".to_owned(),
        "https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426".to_owned(),
        "]E00300676382302".to_owned(),
        "+A99912349/$10X3/16D20111231/14D20200131/Q500Z".to_owned(),
        "=+06000=/A9999XYZ100T0476=,000025=A99971712345600=>019032=}017032&,1000000000000XYZ123".to_owned(),
        "[)>\u{1e}06\u{1d}9N110375286414\u{1d}1T12345ABCD\u{1d}D150617\u{1d}S12345ABCDEF98765\u{1e}\u{4}".to_owned(),
        "68682-065-10".to_owned(),
    ];
    for label in &labels {
        let mut read_well = false;
        let counted = allocation_counter::measure(|| read_well = read(label, &today).is_ok());
        assert!(read_well, "{label}");
        assert_eq!(counted.count_total, 0, "{label}");
    }
}
