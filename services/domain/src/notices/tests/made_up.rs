use super::*;

// Made up after the shapes of FDA's texts; identifiers are of GS1's and HIBC's example ranges or
// stand for any. Common practice, no source.
const TEXTS: &[Row] = &[
    (
        "made up",
        "Lot #s: A1, B2 and C3; exp 12/2025",
        &["lots A1, B2, C3 | exp 2025-12"],
        &[],
    ),
    ("made up", "Lot Numbers 123-130", &["lot 123..130"], &[]),
    ("made up", "All lots", &["all"], &[]),
    (
        "made up",
        "Serial numbers: 1001 through 1050",
        &["serial 1001..1050"],
        &[],
    ),
    (
        "made up",
        "Catalog No. 123-45 Lots: A100, A101; Catalog No. 123-46 Lots: B100, B101",
        &[
            "lots A100, A101 | cat 123-45",
            "lots B100, B101 | cat 123-46",
        ],
        &[],
    ),
    (
        "made up",
        "UDI-DI 09521400010204 Lots 1A, 1B exp 2025-12-31",
        &["lots 1A, 1B | ids 09521400010204 | exp 2025-12-31"],
        &[],
    ),
    (
        "made up",
        "UDI: (01)09521400010204(17)271231(10)AB12; (01)09521400010211(17)280131(10)AB13",
        &[
            "lots AB12 | ids 09521400010204 | exp 2027-12-31",
            "lots AB13 | ids 09521400010211 | exp 2028-01-31",
        ],
        &[],
    ),
    (
        "made up",
        "Lot number: 12345; Exp. Date: 2026-01-31; UDI: (01)09521400010204(17)260131(10)12345",
        &["lots 12345 | ids 09521400010204 | exp 2026-01-31"],
        &[],
    ),
    (
        "made up",
        "NDC 12345-678-90, Lots: AA1111, BB2222; Exp 10/2026\n\nNDC 12345-678-91, Lot: CC3333; Exp 11/2026",
        &[
            "lots AA1111, BB2222 | ids 12345-678-90 | exp 2026-10",
            "lots CC3333 | ids 12345-678-91 | exp 2026-11",
        ],
        &[],
    ),
    (
        "made up",
        "NDC 12345-678-90 Lot 12345A Exp 3/2026, Lot 12346A Exp 4/2026",
        &[
            "lots 12345A | ids 12345-678-90 | exp 2026-03",
            "lots 12346A | ids 12345-678-90 | exp 2026-04",
        ],
        &[],
    ),
    (
        "made up",
        "Lots A1, A2, A3, Exp: 01/2025, 02/2025, 03/2025",
        &[
            "lots A1 | exp 2025-01",
            "lots A2 | exp 2025-02",
            "lots A3 | exp 2025-03",
        ],
        &[],
    ),
    (
        "made up",
        "Lots: 1A23, 1A24, and 1A25 with expiration dates of 04/2024, 05/2024, and 06/2024, respectively",
        &[
            "lots 1A23 | exp 2024-04",
            "lots 1A24 | exp 2024-05",
            "lots 1A25 | exp 2024-06",
        ],
        &[],
    ),
    (
        "made up",
        "Lot/Serial Numbers: 12345, 12346",
        &["lots 12345, 12346 | serials 12345, 12346"],
        &[],
    ),
    ("made up", "Lot Numbers: All", &["all"], &[]),
    (
        "made up",
        "Serial numbers: All serial numbers",
        &["all"],
        &[],
    ),
    (
        "made up",
        "Expiration Date: 01/2025, Lot: AB12; Expiration Date: 02/2025, Lot: AB13",
        &["lots AB12 | exp 2025-01", "lots AB13 | exp 2025-02"],
        &[],
    ),
    (
        "made up",
        "Lots with expiration dates on or before 12/31/2025",
        &["exp ..2025-12-31"],
        &[],
    ),
    (
        "made up",
        "All lots with expiration dates from 01/2024 to 06/2024",
        &["exp 2024-01-01..2024-06-30 | all"],
        &[],
    ),
    (
        "made up",
        "Kits expiring 2025-03 to 2025-06",
        &["exp 2025-03-01..2025-06-30"],
        &["Kits"],
    ),
    ("made up", "Lot numbers: 100 and lower", &["lot ..100"], &[]),
    (
        "made up",
        "Serial numbers 1000 and up",
        &["serial 1000.."],
        &[],
    ),
    (
        "made up",
        "Serial numbers prior to 10500",
        &["serial ..10500"],
        &[],
    ),
    ("made up", "Lots below 5000", &["lot ..5000"], &[]),
    ("made up", "Lot 1234 through present", &["lot 1234.."], &[]),
    (
        "made up",
        "Lots listed below: 123, 124",
        &["lots 123, 124"],
        &[],
    ),
    (
        "made up",
        "Lots 1234 to 1250 and 1300",
        &["lots 1300 | lot 1234..1250"],
        &[],
    ),
    ("made up", "Lots 24A01-24A45", &["lot 24A01..24A45"], &[]),
    (
        "made up",
        "Lots 23F10-24F07",
        &["lots 23F10-24F07 | lot 23F10..24F07"],
        &[],
    ),
    (
        "made up",
        "Lots: NP-2406A to NP-2407F",
        &["lot NP-2406A..NP-2407F"],
        &[],
    ),
    (
        "made up",
        "Serials: CS-ECG-0001 to 2100",
        &["serial CS-ECG-0001..CS-ECG-2100"],
        &[],
    ),
    (
        "made up",
        "Lot #12345-A through #12345-F",
        &["lot 12345-A..12345-F"],
        &[],
    ),
    (
        "made up",
        "Batch Nos. 1234 – 1240",
        &["lot 1234..1240"],
        &[],
    ),
    (
        "made up",
        "S/N 1234-5678",
        &["serials 1234-5678 | serial 1234..5678"],
        &[],
    ),
    (
        "made up",
        "Lot 1234 - Exp 12/2025",
        &["lots 1234 | exp 2025-12"],
        &[],
    ),
    (
        "made up",
        "All lots manufactured between 01/01/2020 and 06/30/2020",
        &["all"],
        &["manufactured between 01/01/2020 and 06/30/2020"],
    ),
    (
        "made up",
        "All lots except lot 12345",
        &["all"],
        &["except lot 12345"],
    ),
    (
        "made up",
        "All lots, excluding A1 and A2. Lot B3",
        &["lots B3", "all"],
        &["excluding A1 and A2"],
    ),
    (
        "made up",
        "Lots 1234, 1235. Not affected: lots 1236, 1237.",
        &["lots 1234, 1235"],
        &["Not affected: lots 1236, 1237"],
    ),
    (
        "made up",
        "UDI +H123AB450X, Lot 55",
        &["lots 55 | ids H123AB450"],
        &[],
    ),
    (
        "made up",
        "Batch: X1\nBatch: X2\nBatch: X3",
        &["lots X1, X2, X3"],
        &[],
    ),
    (
        "made up",
        "REF 1234, 1235, 1236\nAll lots",
        &["cat 1234, 1235, 1236 | all"],
        &[],
    ),
    (
        "made up",
        "Lot Number (Expiration Date): AB123 (2025-06-30), AB124 (2025-07-31)",
        &["lots AB123 | exp 2025-06-30", "lots AB124 | exp 2025-07-31"],
        &[],
    ),
    (
        "made up",
        "GTIN 09521400010204; Lot Numbers (Expiration Date): 1234567 (31 May 2024), 2345678 (30-Jun-2024)",
        &[
            "lots 1234567 | ids 09521400010204 | exp 2024-05-31",
            "lots 2345678 | ids 09521400010204 | exp 2024-06-30",
        ],
        &[],
    ),
    (
        "made up",
        "Lot No. 0001234, exp. date: June 2026",
        &["lots 0001234 | exp 2026-06"],
        &[],
    ),
    (
        "made up",
        "Lot 5F13 EXP2027-05-31, LOT 5F14 EXP2027-06-30",
        &["lots 5F13 | exp 2027-05-31", "lots 5F14 | exp 2027-06-30"],
        &[],
    ),
    (
        "made up",
        "Lot 123 distributed between 5/1/2010 and 6/2/2011",
        &["lots 123"],
        &["distributed between 5/1/2010 and 6/2/2011"],
    ),
    (
        "made up",
        "Lot 123 (mfg 2019-01-02), 124 (mfg 2019-01-03)",
        &["lots 123, 124"],
        &["mfg 2019-01-02", "mfg 2019-01-03"],
    ),
    (
        "made up",
        "Lots manufactured between 1/1/20 and 2/2/20: A123, B234",
        &["lots A123, B234"],
        &["manufactured between 1/1/20 and 2/2/20"],
    ),
    (
        "made up",
        "Model: ABC100 (UDI-DI: 09521400010204), ABC200 (UDI-DI: 09521400010211); Lots: L1, L2",
        &["lots L1, L2 | ids 09521400010204, 09521400010211 | cat ABC100, ABC200"],
        &[],
    ),
    (
        "made up",
        "Product: 3 mL syringe, Part Number 309657, Lots 1234567, 1234568 (25 units each). Distributed 2020.",
        &["lots 1234567, 1234568 | cat 309657"],
        &["Product: 3 mL syringe", "25 units each). Distributed 2020"],
    ),
    (
        "made up",
        "Item Number 00-5901-036-00, Lots 61234567, 61234568; Item Number 00-5901-037-00, All lots",
        &[
            "lots 61234567, 61234568 | cat 00-5901-036-00",
            "cat 00-5901-037-00 | all",
        ],
        &[],
    ),
    (
        "made up",
        "Catalog # / Lot #\nMX1234 / 123456\nMX1235 / 123457",
        &["lots MX1234, 123456, MX1235, 123457"],
        &[],
    ),
    (
        "made up",
        "Control numbers C100, C101",
        &["lots C100, C101"],
        &[],
    ),
    (
        "made up",
        "Lot: LOT-42; UPC 0 12345 67890 5",
        &["lots LOT-42 | ids 012345678905"],
        &[],
    ),
    ("made up", "see attached list", &[], &["see attached list"]),
    ("made up", "", &[], &[]),
    (
        "made up",
        "Lote 99 ürün 12345 – 💉",
        &[],
        &["Lote 99 ürün 12345"],
    ),
];

#[test]
fn other_shapes_are_read_too() {
    check(TEXTS);
}
