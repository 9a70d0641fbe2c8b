//! What keyboards and scanners do to the separator: facts of scanner manuals and of the
//! character set (GS1 General Specifications 7.11).

use lotwarden_codes::{Separators, Warning, read};

use crate::{elements, reference, text, today};

#[test]
fn substituted_separators_are_understood_and_lost_ones_flagged() {
    for vector in reference::list("gs1_wedge.json", "vectors") {
        let (input, substitute) = (text(&vector, "input"), text(&vector, "substitute"));
        let mut context = today();
        if substitute == "%1D" {
            // Legal label text, so the station must be configured for it.
            let unasked = read(input, &context).expect("legal text");
            assert!(
                unasked.warnings.contains(Warning::SeparatorSuspect),
                "{input:?}"
            );
            context.separators = Separators::default().with("%1D");
        }
        let reading = read(input, &context).unwrap_or_else(|e| panic!("{input:?}: {e:?}"));
        if vector["expected"].is_array() {
            assert_eq!(elements(&reading), vector["expected"], "{input:?}");
            assert!(
                !reading.warnings.contains(Warning::SeparatorSuspect),
                "{input:?}"
            );
        } else {
            assert_eq!(reading.lot.as_deref(), Some("ABC12321SN0001"));
            assert!(
                reading.warnings.contains(Warning::SeparatorSuspect),
                "{input:?}"
            );
        }
    }
}
