//! Readings a second on one thread, beside the plainest split of the same bytes as floor.

use std::hint::black_box;
use std::time::{Duration, Instant};

use jiff::civil::date;
use lotwarden_codes::{Context, read};

use crate::size::Size;

/// UDI labels with worked examples' data (FDA UDI formats 1.3, ANSI/HIBC 2.6, ICCBBA
/// ST-017), and the GS1 form a third time as it stands in brackets.
const LABELS: [(&str, &[&str]); 4] = [
    (
        "gs1_udi",
        &[
            "]d20151022222233336111412311715070710A213B1\u{1d}211234",
            "]d201095201234567881727123110ABC123\u{1d}21SN0001",
            "]d20108806388269617112302141728021310230214A3263-01\u{1d}21059\u{1d}240ARO4808C",
        ],
    ),
    (
        "gs1_bracketed",
        &["(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"],
    ),
    (
        "hibc_udi",
        &["+A99912345/$$52001510X3/16D20111212/S77DEFG457"],
    ),
    (
        "isbt_128_udi",
        &["=/A9999XYZ100T0476=,000025=A99971712345600=>019032=}017032"],
    ),
];

/// Prints one JSON line for each kind of label.
pub fn run(size: Size) {
    let passes = size.pick(300_000, 30_000);
    let today = Context::new(date(2026, 11, 24));
    for (name, labels) in LABELS {
        let split = timed(passes, labels, |label| {
            label.split('\u{1d}').map(str::len).sum::<usize>()
        });
        let reading = timed(passes, labels, |label| {
            read(label, &today).map_or(0, |r| r.elements.len())
        });
        let count = passes * labels.len();
        println!(
            "{{\"bench\":\"codes\",\"labels\":\"{name}\",\"readings_per_second\":{:.0},\"split_per_second\":{:.0},\"bytes\":{}}}",
            per_second(count, reading),
            per_second(count, split),
            labels.iter().map(|l| l.len()).sum::<usize>() / labels.len(),
        );
    }
}

/// The shortest of five rounds, because other work on the machine only adds time.
fn timed(passes: usize, labels: &[&str], mut work: impl FnMut(&str) -> usize) -> Duration {
    let mut shortest = Duration::MAX;
    for _ in 0..5 {
        let start = Instant::now();
        for _ in 0..passes {
            for label in labels {
                black_box(work(black_box(label)));
            }
        }
        shortest = shortest.min(start.elapsed());
    }
    shortest
}

fn per_second(count: usize, time: Duration) -> f64 {
    count as f64 / time.as_secs_f64().max(f64::EPSILON)
}
