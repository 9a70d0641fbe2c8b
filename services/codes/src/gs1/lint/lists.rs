//! Codes that must be in a published list.

use super::Fault;

/// ISO 3166-1 numeric codes.
const COUNTRIES: [u16; 249] = [
    4, 8, 10, 12, 16, 20, 24, 28, 31, 32, 36, 40, 44, 48, 50, 51, 52, 56, 60, 64, 68, 70, 72, 74,
    76, 84, 86, 90, 92, 96, 100, 104, 108, 112, 116, 120, 124, 132, 136, 140, 144, 148, 152, 156,
    158, 162, 166, 170, 174, 175, 178, 180, 184, 188, 191, 192, 196, 203, 204, 208, 212, 214, 218,
    222, 226, 231, 232, 233, 234, 238, 239, 242, 246, 248, 250, 254, 258, 260, 262, 266, 268, 270,
    275, 276, 288, 292, 296, 300, 304, 308, 312, 316, 320, 324, 328, 332, 334, 336, 340, 344, 348,
    352, 356, 360, 364, 368, 372, 376, 380, 384, 388, 392, 398, 400, 404, 408, 410, 414, 417, 418,
    422, 426, 428, 430, 434, 438, 440, 442, 446, 450, 454, 458, 462, 466, 470, 474, 478, 480, 484,
    492, 496, 498, 499, 500, 504, 508, 512, 516, 520, 524, 528, 531, 533, 534, 535, 540, 548, 554,
    558, 562, 566, 570, 574, 578, 580, 581, 583, 584, 585, 586, 591, 598, 600, 604, 608, 612, 616,
    620, 624, 626, 630, 634, 638, 642, 643, 646, 652, 654, 659, 660, 662, 663, 666, 670, 674, 678,
    682, 686, 688, 690, 694, 702, 703, 704, 705, 706, 710, 716, 724, 728, 729, 732, 740, 744, 748,
    752, 756, 760, 762, 764, 768, 772, 776, 780, 784, 788, 792, 795, 796, 798, 800, 804, 807, 818,
    826, 831, 832, 833, 834, 840, 850, 854, 858, 860, 862, 876, 882, 887, 894,
];

/// ISO 4217 numeric codes (list one).
const CURRENCIES: [u16; 179] = [
    8, 12, 32, 36, 44, 48, 50, 51, 52, 60, 64, 68, 72, 84, 90, 96, 104, 108, 116, 124, 132, 136,
    144, 152, 156, 170, 174, 188, 192, 203, 208, 214, 222, 230, 232, 238, 242, 262, 270, 292, 320,
    324, 328, 332, 340, 344, 348, 352, 356, 360, 364, 368, 376, 388, 392, 396, 398, 400, 404, 408,
    410, 414, 417, 418, 422, 426, 430, 434, 446, 454, 458, 462, 480, 484, 496, 498, 504, 512, 516,
    524, 532, 533, 548, 554, 558, 566, 578, 586, 590, 598, 600, 604, 608, 634, 643, 646, 654, 682,
    690, 702, 704, 706, 710, 728, 748, 752, 756, 760, 764, 776, 780, 784, 788, 800, 807, 818, 826,
    834, 840, 858, 860, 882, 886, 901, 924, 925, 926, 927, 928, 929, 930, 933, 934, 936, 938, 940,
    941, 943, 944, 946, 947, 948, 949, 950, 951, 952, 953, 955, 956, 957, 958, 959, 960, 961, 962,
    963, 964, 965, 967, 968, 969, 970, 971, 972, 973, 975, 976, 977, 978, 979, 980, 981, 984, 985,
    986, 990, 994, 997, 999,
];

/// ISO 3166-1 alpha-2 codes.
const COUNTRY_LETTERS: &str = "\
    AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR \
    BS BT BV BW BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ \
    EC EE EG EH ER ES ET FI FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW \
    GY HK HM HN HR HT HU ID IE IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY \
    KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV \
    MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF PG PH PK PL PM PN PR PS PT PW PY \
    QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV SX SY SZ TC TD TF TG \
    TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS YE YT ZA ZM \
    ZW";

/// UN/ECE Recommendation 21 codes with GS1's additions (PackageTypeCode).
const PACKAGE_TYPES: &str = "\
    1A 1B 1D 1F 1G 1W 200 201 202 203 204 205 206 210 211 212 2C 3A 3H 43 44 4A 4B 4C 4D 4F 4G \
    4H 5H 5L 5M 6H 6P 7A 7B 8 8A 8B 8C 9 AA AB AC AD AF AG AH AI AJ AL AM AP APE AT AV B4 BB BC \
    BD BE BF BG BGE BH BI BJ BK BL BM BME BN BO BP BQ BR BRI BS BT BU BV BW BX BY BZ CA CB CBL \
    CC CCE CD CE CF CG CH CI CJ CK CL CM CN CO CP CQ CR CS CT CU CV CW CX CY CZ DA DB DC DG DH \
    DI DJ DK DL DM DN DP DPE DR DS DT DU DV DW DX DY E1 E2 E3 EC ED EE EF EG EH EI EN FB FC FD \
    FE FI FL FO FOB FP FPE FR FT FW FX GB GI GL GR GU GY GZ HA HB HC HG HN HR IA IB IC ID IE IF \
    IG IH IK IL IN IZ JB JC JG JR JT JY KG KI LAB LE LG LT LU LV LZ MA MB MC ME MPE MR MS MT MW \
    MX NA NE NF NG NS NT NU NV OA OB OC OD OE OF OK OPE OT OU P2 PA PAE PB PC PD PE PF PG PH PI \
    PJ PK PL PLP PN PO POP PP PPE PR PT PU PUE PV PX PY PZ QA QB QC QD QF QG QH QJ QK QL QM QN \
    QP QQ QR QS RB1 RB2 RB3 RCB RD RG RJ RK RL RO RT RZ S1 SA SB SC SD SE SEC SH SI SK SL SM SO \
    SP SS ST STL SU SV SW SX SY SZ T1 TB TC TD TE TEV TG THE TI TK TL TN TO TR TRE TS TT TTE TU \
    TV TW TWE TY TZ UC UN UUE VA VG VI VK VL VN VO VP VQ VR VS VY WA WB WC WD WF WG WH WJ WK WL \
    WM WN WP WQ WR WRP WS WT WU WV WW WX WY WZ X11 X12 X15 X16 X17 X18 X19 X20 X3 XA XB XC XD XF \
    XG XH XJ XK YA YB YC YD YF YG YH YJ YK YL YM YN YP YQ YR YS YT YV YW YX YY YZ ZA ZB ZC ZD ZF \
    ZG ZH ZJ ZK ZL ZM ZN ZP ZQ ZR ZS ZT ZU ZV ZW ZX ZY ZZ";

pub(super) fn country(value: &[u8]) -> Result<(), Fault> {
    numeric(&COUNTRIES, value)
}

pub(super) fn currency(value: &[u8]) -> Result<(), Fault> {
    numeric(&CURRENCIES, value)
}

pub(super) fn country_letters(value: &[u8]) -> Result<(), Fault> {
    listed(COUNTRY_LETTERS, value)
}

pub(super) fn package_type(value: &[u8]) -> Result<(), Fault> {
    listed(PACKAGE_TYPES, value)
}

/// ICCBBA's assigned (01 to 10) and local (80 to 99) media types.
pub(super) fn media_type(value: &[u8]) -> Result<(), Fault> {
    let fits = matches!(
        value,
        [b'0', b'1'..=b'9'] | b"10" | [b'8' | b'9', b'0'..=b'9']
    );
    fits.then_some(()).ok_or(Fault::value(0))
}

fn numeric(list: &[u16], value: &[u8]) -> Result<(), Fault> {
    let code = match value {
        [a, b, c] if value.iter().all(u8::is_ascii_digit) => [a, b, c]
            .iter()
            .fold(0, |n, d| n * 10 + u16::from(**d - b'0')),
        _ => return Err(Fault::value(0)),
    };
    list.binary_search(&code)
        .map(drop)
        .map_err(|_| Fault::value(0))
}

fn listed(list: &str, value: &[u8]) -> Result<(), Fault> {
    list.split_ascii_whitespace()
        .any(|code| code.as_bytes() == value)
        .then_some(())
        .ok_or(Fault::value(0))
}
