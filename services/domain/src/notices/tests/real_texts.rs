use super::*;

// The texts are code_info fields of FDA's enforcement records (public domain; openFDA, CC0), each
// with its recall number, and of the printed Enforcement Reports before them. What they name was
// decided by reading them.
const TEXTS: &[Row] = &[
    (
        "device/enforcement example of openFDA",
        "Lot 007A1037, Ref 010-55-25.",
        &["lots 007A1037 | cat 010-55-25"],
        &[],
    ),
    (
        "drug/enforcement example of openFDA",
        "Lot numbers and exp dates:  10108716  31-Mar-2013, \n10111510  30-Apr-2013, 10113801  31-May-2013, 10113839  30-Apr-2013, 10115616  31-Aug-2013",
        &[
            "lots 10108716 | exp 2013-03-31",
            "lots 10111510 | exp 2013-04-30",
            "lots 10113801 | exp 2013-05-31",
            "lots 10113839 | exp 2013-04-30",
            "lots 10115616 | exp 2013-08-31",
        ],
        &[],
    ),
    (
        "Z-0053-2020",
        "Lot/Batch Numbers: 13F18C0374, 13F18H0580, 13F18D0504, 13F18L0507,  13F18E0380, 13F18L0714, 13F18G0180, 13F18L0936,  13F18G0480",
        &[
            "lots 13F18C0374, 13F18H0580, 13F18D0504, 13F18L0507, 13F18E0380, 13F18L0714, 13F18G0180, 13F18L0936, 13F18G0480",
        ],
        &[],
    ),
    (
        "D-1407-2012",
        "Lot number and expiration dates\n\nEloxatin  (OXALIplatin injection) 50mg vial AE41 02/ 2012\nEloxatin  (OXALIplatin injection) 50mg vial CA02B 02/ 2012",
        &["lots AE41, CA02B | exp 2012-02"],
        &[
            "Eloxatin  (OXALIplatin injection) 50mg vial",
            "Eloxatin  (OXALIplatin injection) 50mg vial",
        ],
    ),
    (
        "openFDA test file ucm308307.json",
        "Lot #'s: a) 90A024, 90A026, Exp 09/13; b) 90A028, Exp 09/13",
        &[
            "lots 90A024, 90A026 | exp 2013-09",
            "lots 90A028 | exp 2013-09",
        ],
        &[],
    ),
    (
        "openFDA test file ucm308307.json",
        "Lot # 8D1082, Exp 01/13; 8D1151, Exp 03/13",
        &["lots 8D1082 | exp 2013-01", "lots 8D1151 | exp 2013-03"],
        &[],
    ),
    (
        "openFDA test file ucm308307.json",
        "Lot #: LF00478C, LF00479C, Exp 10/12; LF00551C, LF00552C, Exp 01/13; LF00687C, LF00688C, Exp 04/13",
        &[
            "lots LF00478C, LF00479C | exp 2012-10",
            "lots LF00551C, LF00552C | exp 2013-01",
            "lots LF00687C, LF00688C | exp 2013-04",
        ],
        &[],
    ),
    (
        "openFDA test file ucm308307.json",
        "Expiration dates from 01/19/2012 through 05/02/2012 and lot number from 00112 through 10412",
        &["lot 00112..10412 | exp 2012-01-19..2012-05-02"],
        &[],
    ),
    (
        "openFDA test file one-recall.json",
        "Lot # 20118000.",
        &["lots 20118000"],
        &[],
    ),
    (
        "D-149-2013",
        "Lot #: 69403A, 69403B, Exp 10/15; 69404A, 69405A, 69515A, 69702A, 69702B, 69703A, Exp 11/15; 69767A, 69767B, Exp 12/15",
        &[
            "lots 69403A, 69403B | exp 2015-10",
            "lots 69404A, 69405A, 69515A, 69702A, 69702B, 69703A | exp 2015-11",
            "lots 69767A, 69767B | exp 2015-12",
        ],
        &[],
    ),
    (
        "D-0115-2026",
        "Lot, Best Use Date (BUD): Lot PRORX050925-1, BUD November 4, 2025; Lot ProRx051425-5, BUD November 10, 2025; Lot ProRx051425-6, BUD November 10, 2025",
        &[
            "lots PRORX050925-1 | exp 2025-11-04",
            "lots ProRx051425-5, ProRx051425-6 | exp 2025-11-10",
        ],
        &[],
    ),
    (
        "D-0247-2026",
        "Lot # EA00237A, Exp Date: 04/30/2027",
        &["lots EA00237A | exp 2027-04-30"],
        &[],
    ),
    ("D-0289-2026", "All lots within expiry.", &["all"], &[]),
    (
        "Z-1603-2023",
        "UDI: (01) 04050598000582 PN K6870/Lot Numbers:  220706 Exp. 05/04/2024;  221122 Exp. 06/07/2024.  P/N:K6870.20.US.L Lot Numbers:  221124 Exp:07/29/2025, 230102 Exp: 10/24/2025",
        &[
            "lots 220706 | ids 04050598000582 | cat K6870 | exp 2024-05-04",
            "lots 221122 | ids 04050598000582 | cat K6870 | exp 2024-06-07",
            "lots 221124 | cat K6870.20.US.L | exp 2025-07-29",
            "lots 230102 | cat K6870.20.US.L | exp 2025-10-24",
        ],
        &[],
    ),
    (
        "Z-2373-2015",
        "Lots begin with: 15AMLB, 15BMLB, 15CMLB.",
        &["lot 15AMLB*, lot 15BMLB*, lot 15CMLB*"],
        &[],
    ),
    (
        "Z-0071-2023",
        "1) UDI-DI: Product Code: AHCV18A, Lots 980221 (exp. 01/20/2023) and 974221 (exp. 01/25/2023)  2) UDI-DI: Product Code: AHCV18B, Lots 868221 (exp. 05/31/2023), 842221 (exp. 05/31/2023)",
        &[
            "lots 980221 | cat AHCV18A | exp 2023-01-20",
            "lots 974221 | cat AHCV18A | exp 2023-01-25",
            "lots 868221, 842221 | cat AHCV18B | exp 2023-05-31",
        ],
        &[],
    ),
    (
        "Z-0198-2018",
        "Serial Numbers: AP0447, AP0448, AP0449, AP0450, AP0451, AP0458 & AP0463.",
        &["serials AP0447, AP0448, AP0449, AP0450, AP0451, AP0458, AP0463"],
        &[],
    ),
    (
        "Z-0856-2022",
        "Product Number: 69420-8351-1 Lot Number: U701SF1 UDI Code: N/A",
        &["lots U701SF1 | cat 69420-8351-1"],
        &[],
    ),
    (
        "Z-2308-2026",
        "Model/Catalog Number: 409-375 UDI code: (01)00844505000772(10)122927(17)310301 Lot Number: 122927",
        &["lots 122927 | ids 00844505000772 | cat 409-375 | exp 2031-03-01"],
        &[],
    ),
    (
        "Z-0001-2023",
        "Catalog Number: CO-02 UDI-DI Code: No UDI Codes provided Lot Numbers: 202107192, 202108231, 202109231, 202111082, 202110111, 202201102,",
        &["lots 202107192, 202108231, 202109231, 202111082, 202110111, 202201102 | cat CO-02"],
        &["provided"],
    ),
    (
        "Z-0174-2023",
        "Catalog Number: 383516 UDI-DI Code: (01)00382903835164 Lot Number: 2168865",
        &["lots 2168865 | ids 00382903835164 | cat 383516"],
        &[],
    ),
    (
        "Z-1721-2016",
        "Lot Number:/  2015/08 BH  2015/09 BP  2015/10 BM  2015/11 BL  2015/12 AX  2015/12 CR  2016/01 AN",
        &[
            "lots 2015/08 BH, 2015/09 BP, 2015/10 BM, 2015/11 BL, 2015/12 AX, 2015/12 CR, 2016/01 AN",
        ],
        &[],
    ),
    (
        "Z-1973-2023",
        "UDI/DI: 00191072179593; Lot Number: 967231",
        &["lots 967231 | ids 00191072179593"],
        &[],
    ),
    (
        "Z-2099-2023",
        "UDI-DI: 00382904441500;",
        &["ids 00382904441500"],
        &[],
    ),
    (
        "Z-1509-2015",
        "Product No. 91672, 91673, 91674, 91677, 91678, 91679, 91682, 91683, 91687, 91688, and 91689",
        &["cat 91672, 91673, 91674, 91677, 91678, 91679, 91682, 91683, 91687, 91688, 91689"],
        &[],
    ),
    (
        "Z-1323-2013",
        "Serial Numbers: United States: HW001-HW3827 and International: HW001-HW3827 and HW1000-HW10675",
        &["serial HW001..HW3827, serial HW1000..HW10675"],
        &["United States", "International"],
    ),
    (
        "Z-0824-2021",
        "Lot Numbers: 20LXAC030  20LXAC084  20NXAC002  20LXAC014  20NXAC018",
        &["lots 20LXAC030, 20LXAC084, 20NXAC002, 20LXAC014, 20NXAC018"],
        &[],
    ),
    (
        "D-920-2013",
        "Lot #: 6103882, Exp 10/14",
        &["lots 6103882 | exp 2014-10"],
        &[],
    ),
    (
        "D-0854-2016",
        "Lot #: 42-335-DK, Exp 1JUN2016; 48-128-DK, 48-129-DK, 48-261-DK, 48-262-DK, 48-351-DK, Exp 1DEC2016; 52-361-DK, Exp 1APR2017; note that the lot number may be followed by numbers from 01 to 99.",
        &[
            "lots 42-335-DK | lot 42-335-DK* | exp 2016-06-01",
            "lots 48-128-DK, 48-129-DK, 48-261-DK, 48-262-DK, 48-351-DK | lot 48-128-DK*, lot 48-129-DK*, lot 48-261-DK*, lot 48-262-DK*, lot 48-351-DK* | exp 2016-12-01",
            "lots 52-361-DK | lot 52-361-DK* | exp 2017-04-01",
        ],
        &["note", "may be followed by numbers from 01 to 99"],
    ),
    (
        "D-0973-2015",
        "Lot 38-135-DK, 38-136-DK Exp. Date 1FEB2016;  Lots 44-075-DK, 44-356-DK Exp. Date 1AUG2016;   Lots 44-357-DK, 44-358-DK Exp. Date 1AUG2016;  Lot 46-308-DK Exp. Date 1OCT2016  - Note: The lot number may be followed by additional numbers from 01 to 99    NOVAPLUS label  Lot 38-137-DK Exp. Date 1FEB2016  - Note: The lot number may be followed by additional numbers from 01 to 99",
        &[
            "lots 38-135-DK, 38-136-DK | lot 38-135-DK*, lot 38-136-DK* | exp 2016-02-01",
            "lots 44-075-DK, 44-356-DK, 44-357-DK, 44-358-DK | lot 44-075-DK*, lot 44-356-DK*, lot 44-357-DK*, lot 44-358-DK* | exp 2016-08-01",
            "lots 46-308-DK | lot 46-308-DK* | exp 2016-10-01",
            "lots 38-137-DK | lot 38-137-DK* | exp 2016-02-01",
        ],
        &[
            "Note",
            "may be followed by additional numbers from 01 to 99    NOVAPLUS label",
            "Note",
            "may be followed by additional numbers from 01 to 99",
        ],
    ),
    (
        "D-1137-2016",
        "Lot #: 50-343-DK*, Exp 01FEB2017; note that the lot number may be followed by numbers from 01 to 99.",
        &["lots 50-343-DK | lot 50-343-DK* | exp 2017-02-01"],
        &["note", "may be followed by numbers from 01 to 99"],
    ),
    (
        "D-0859-2016",
        "Lot #: 4750915, Exp 9/2017",
        &["lots 4750915 | exp 2017-09"],
        &[],
    ),
    (
        "D-0413-2018",
        "Lot # 544821A, Exp 07/19",
        &["lots 544821A | exp 2019-07"],
        &[],
    ),
    (
        "D-323-2014",
        "The following product was affected:   AHP Lot #: 130007  Expiration Date: 01/31/2014  Carton NDC #: 68084-633-01  Single Dose NDC #: 68084-633-11",
        &["lots 130007 | ids 68084-633-01, 68084-633-11 | exp 2014-01-31"],
        &["product was affected:   AHP", "Carton", "Single Dose"],
    ),
    (
        "D-1515-2014",
        "Lot 102492, exp 01/2016",
        &["lots 102492 | exp 2016-01"],
        &[],
    ),
    (
        "D-0397-2015",
        "Lot T018H14A, Exp 08/16",
        &["lots T018H14A | exp 2016-08"],
        &[],
    ),
    (
        "D-0266-2019",
        "Lots: PA17-412, PA17-077, PA17-196,PA17-127, PA17-150, Exp 11/18",
        &["lots PA17-412, PA17-077, PA17-196, PA17-127, PA17-150 | exp 2018-11"],
        &[],
    ),
    (
        "D-1130-2019",
        "Lot#:  M030042P, Exp. 01/2020",
        &["lots M030042P | exp 2020-01"],
        &[],
    ),
    (
        "D-0970-2016",
        "UPC 859613274229",
        &["ids 859613274229"],
        &[],
    ),
    (
        "D-0488-2015",
        "Lot # 956000M, Exp. Aug 2016; UPC 3-6203760090-6",
        &["lots 956000M | ids 362037600906 | exp 2016-08"],
        &[],
    ),
    (
        "D-0133-2017",
        "NDC 10019-553-02 (24 ct. carton) and NDC 10019-553-88 (patch); Lot #'s FV5908 and FX1520 both with expiry 06/2018; GB4910 and GC4210 both with expiry 09/2018; GE1927 with expiry 12/2018; GF7017 with expiry 01/2019 and GH8065 with expiry 02/2019.",
        &[
            "lots FV5908, FX1520 | ids 10019-553-02, 10019-553-88 | exp 2018-06",
            "lots GB4910, GC4210 | ids 10019-553-02, 10019-553-88 | exp 2018-09",
            "lots GE1927 | ids 10019-553-02, 10019-553-88 | exp 2018-12",
            "lots GF7017 | ids 10019-553-02, 10019-553-88 | exp 2019-01",
            "lots GH8065 | ids 10019-553-02, 10019-553-88 | exp 2019-02",
        ],
        &["24 ct. carton", "patch"],
    ),
    (
        "D-028-2014",
        "all codes distributed prior to and including 05/23/2013",
        &["all"],
        &["distributed prior to and including 05/23/2013"],
    ),
    (
        "D-1124-2017, its beginning",
        "Lot # XI002A6, XI003A6, Exp 12/17; XI004G6, XI005G6, Exp 6/18; XI007H6, Exp 7/18; XI00816, XI00916, XI01016, XI01116, Exp 8/18; XI012J6, XI013J6, Exp 9/18; XI015K6,  Exp 10/18; XI016L6, Exp 11/18; XL018A7, XI019A7, Exp 12/18; XI020B7, XI021B7,  Exp 1/19",
        &[
            "lots XI002A6, XI003A6 | exp 2017-12",
            "lots XI004G6, XI005G6 | exp 2018-06",
            "lots XI007H6 | exp 2018-07",
            "lots XI00816, XI00916, XI01016, XI01116 | exp 2018-08",
            "lots XI012J6, XI013J6 | exp 2018-09",
            "lots XI015K6 | exp 2018-10",
            "lots XI016L6 | exp 2018-11",
            "lots XL018A7, XI019A7 | exp 2018-12",
            "lots XI020B7, XI021B7 | exp 2019-01",
        ],
        &[],
    ),
    ("D-0185-2026", "D54361", &["lots D54361"], &[]),
    (
        "H-0602-2026",
        "Lots: SSC40-2402 SWC15-2403; HCFCPDEX24006/01; HCFCPDEX24006/02; HCFCPDEX24006/04; HFCPDEX24006/05; HCFCPDEX24007/01; HCFCPDEX24008/03; HCFCPDEX24010/01;  HCFCPDEX24010/02; HCFCPDEX24012/01; HCFCPDEX25001/01; HCFCPDEX25001/02; HCFCPDEX25005/01; HCFCPDEX25005/02; HCFCPDEX25005/03; HCFCPDEX25007/05; HCFCPDEX25007/06",
        &[
            "lots SSC40-2402, SWC15-2403, HCFCPDEX24006/01, HCFCPDEX24006/02, HCFCPDEX24006/04, HFCPDEX24006/05, HCFCPDEX24007/01, HCFCPDEX24008/03, HCFCPDEX24010/01, HCFCPDEX24010/02, HCFCPDEX24012/01, HCFCPDEX25001/01, HCFCPDEX25001/02, HCFCPDEX25005/01, HCFCPDEX25005/02, HCFCPDEX25005/03, HCFCPDEX25007/05, HCFCPDEX25007/06",
        ],
        &[],
    ),
    (
        "H-1331-2026",
        "BATCH NO: 130 EF, 146 EF SERIAL NUMBER: 5055192640140 PRODUCT CODE: 28DSUM",
        &["lots 130 EF, 146 EF | serials 5055192640140 | cat 28DSUM"],
        &[],
    ),
    (
        "F-0283-2013",
        "All with sell by dates on or before 15-Sep with UPC 0-11213-90380",
        &["all"],
        &["before 15-Sep", "0-11213-90380"],
    ),
    (
        "food/enforcement example of openFDA",
        "all products that has a plant code of \"38-25\".",
        &["all"],
        &["plant code of \"38-25"],
    ),
    (
        "F-0489-2015",
        "All lots codes that fail to declare the allergens: milk",
        &["all"],
        &["fail to declare the allergens: milk"],
    ),
    (
        "F-828-4, Enforcement Report of 1994-09-21",
        "5H42148.",
        &["lots 5H42148"],
        &[],
    ),
    (
        "F-782-4, Enforcement Report of 1994-09-21",
        "All product manufactured during 2/19/94 through 5/19/94.",
        &["all"],
        &["manufactured during 2/19/94 through 5/19/94"],
    ),
    (
        "D-459-2, Enforcement Report of 1992-08-26",
        "920156B EXP 1/94.",
        &["lots 920156B | exp 1994-01"],
        &[],
    ),
    (
        "D-460-2, Enforcement Report of 1992-08-26",
        "Lot #6018-115 EXP 8/93.",
        &["lots 6018-115 | exp 1993-08"],
        &[],
    ),
    (
        "D-330-2, Enforcement Report of 1992-05-06",
        "CT.312PA (2-test kit) and CT.315PA (5-test kit, lot #160 EXP    \n               6/15/92.",
        &["lots CT.312PA, CT.315PA, 160 | exp 1992-06-15"],
        &["2-test kit", "5-test kit"],
    ),
    (
        "F-258-2, Enforcement Report of 1992-05-06",
        "PN CHOCOLATE SAND 5592 printed on top of shipping carton.",
        &[],
        &["CHOCOLATE SAND 5592 printed on top of shipping carton"],
    ),
    (
        "F-273-2, Enforcement Report of 1992-05-06",
        "Lot #2511/C2J2.",
        &["lots 2511/C2J2"],
        &[],
    ),
    (
        "F-442-2, Enforcement Report of 1992-08-12",
        "All cans bearing the numbers 2084 and lower in the last four     \n               numerical digits.",
        &[],
        &[
            "cans bearing the numbers 2084 and lower in the last four",
            "numerical digits",
        ],
    ),
    (
        "F-483-2, Enforcement Report of 1992-08-26",
        "182 2N or less.",
        &[],
        &["182 2N or less"],
    ),
    (
        "F-370-6, Enforcement Report of 1996-04-03",
        "Lot numbers:  (a) G529KA14, G529KB14,\n               H602KA14, H602KB14, and H603KA14; (b) G529KA3,\n               H602KA3, and H602KB3.",
        &[
            "lots G529KA14, G529KB14, H602KA14, H602KB14, H603KA14",
            "lots G529KA3, H602KA3, H602KB3",
        ],
        &[],
    ),
    (
        "F-372-6, Enforcement Report of 1996-04-03",
        "Item #922.  37-3 on shipping carton. \n               Individual foil-wrapped package has no code\n               markings.",
        &["cat 922"],
        &[
            "37-3 on shipping carton",
            "Individual foil-wrapped package",
            "markings",
        ],
    ),
    (
        "F-685-6, Enforcement Report of 1996-09-11",
        "No date codes.  All misbranded product is\n               under recall.",
        &["all"],
        &["misbranded product", "recall"],
    ),
    (
        "a defibrillator's recall, as quoted elsewhere; number not known",
        "Serial Numbers: US00453441 through US00453910",
        &["serial US00453441..US00453910"],
        &[],
    ),
    (
        "a defibrillator's recall, as quoted elsewhere; number not known",
        "Serial Numbers of affected AEDs begin with C16J, C16K, C17A, or C17B",
        &["serial C16J*, serial C16K*, serial C17A*, serial C17B*"],
        &["AEDs"],
    ),
    (
        "a pump's recall, its beginning as quoted elsewhere; number not known",
        "list 11971 - serial numbers 0013120799 through 0099072300",
        &["serial 0013120799..0099072300 | cat 11971"],
        &[],
    ),
    (
        "Z-0936-2026, its beginning",
        "Model Number: M204441; UDI-DI: 00840861102433; All serial numbers produced with a software version prior to 4.82.4;",
        &["ids 00840861102433 | cat M204441 | all"],
        &["produced with a software version prior to 4.82.4"],
    ),
    (
        "a device recall, as quoted elsewhere; number not known",
        "UDI-DI: 00380740137410. GTIN: 06952999490048. Software versions 3.6.1 and lower.",
        &["ids 00380740137410, 06952999490048"],
        &["Software versions 3.6.1 and lower"],
    ),
    (
        "H-0305-2026, its beginning",
        "Code Date: DEC08  Plant Code: PLT19-145  Timestamp: 17:51 to 21:23",
        &["lots DEC08"],
        &["Plant Code: PLT19-145  Timestamp: 17:51 to 21:23"],
    ),
    (
        "a food recall, as quoted elsewhere; number not known",
        "Recalled Lot Codes   -  408125075E14F2 -  708125076E14F2 -  708125083E14F2",
        &["lots 408125075E14F2, 708125076E14F2, 708125083E14F2"],
        &[],
    ),
    (
        "D-0785-2026, its end",
        "Lot #: D2402432, Exp. Date 10/31/2026; D2500180, Exp. Date 12/31/2026.",
        &[
            "lots D2402432 | exp 2026-10-31",
            "lots D2500180 | exp 2026-12-31",
        ],
        &[],
    ),
];

#[test]
fn real_texts_name_what_a_person_reads_in_them() {
    check(TEXTS);
}
