//! Assets, pieces, payments, coupons and company-internal data: AIs 80 to 99.

use crate::gs1::lint::Check::{
    CompanyPrefix, CompanyPrefixSecond, Coupon, CouponOffer, Date, DigitSum, HasNonDigit, Hour,
    Iban, Minute, NoZeroPrefix, NonZero, PairSum, PieceOfTotal, Second, Winding, Zero,
};
use crate::gs1::table::row::{Ai, ai, n, n_to, range, x_to, y_to, z_to};
use crate::gs1::table::row::{
    COUPON, ITEM, ITEM_CONTENT_OR_MADE, ITEM_OR_CONTENT, NONE, PERSON, PHONE, SERIAL_ITEM,
};

pub(super) const ROWS: &[Ai] = &[
    ai(
        "8001",
        &[
            n(4).is(&[NonZero]),
            n(5).is(&[NonZero]),
            n(3).is(&[NonZero]),
            n(1).is(&[Winding]),
            n(1),
        ],
    )
    .attribute()
    .needs(ITEM),
    ai("8002", &[x_to(20)]).attribute(),
    ai(
        "8003",
        &[
            n(1).is(&[Zero]),
            n(13).is(&[DigitSum, CompanyPrefix]),
            x_to(16).optional(),
        ],
    )
    .attribute()
    .key(NONE),
    ai("8004", &[x_to(30).is(&[CompanyPrefix])])
        .attribute()
        .key(&[&["7040"]]),
    ai("8005", &[n(6)]).attribute().needs(ITEM_OR_CONTENT),
    ai(
        "8006",
        &[
            n(14).is(&[DigitSum, CompanyPrefixSecond]),
            n(4).is(&[PieceOfTotal]),
        ],
    )
    .attribute()
    .excludes(&["01", "03", "37"])
    .key(&[&["22", "10", "21"]]),
    ai("8007", &[x_to(34).is(&[Iban])])
        .attribute()
        .needs(&[&["415"]]),
    ai(
        "8008",
        &[
            n(6).is(&[Date]),
            n(2).is(&[Hour]),
            n(2).is(&[Minute]).optional(),
            n(2).is(&[Second]).optional(),
        ],
    )
    .attribute()
    .needs(ITEM_CONTENT_OR_MADE),
    ai("8009", &[x_to(50)])
        .attribute()
        .needs(&[&["00"], &["01"], &["03"]]),
    ai("8010", &[y_to(30).is(&[CompanyPrefix])])
        .attribute()
        .key(&[&["8011"]]),
    ai("8011", &[n_to(12).is(&[NoZeroPrefix])]).needs(&[&["8010"]]),
    ai("8012", &[x_to(20)]).attribute().needs(SERIAL_ITEM),
    ai("8013", &[x_to(25).is(&[PairSum, CompanyPrefix])])
        .attribute()
        .key(NONE),
    ai(
        "8014",
        &[x_to(25).is(&[PairSum, CompanyPrefix, HasNonDigit])],
    )
    .needs(ITEM),
    ai("8017", &[n(18).is(&[DigitSum, CompanyPrefix])])
        .attribute()
        .excludes(&["8018"])
        .key(&[&["8019"]]),
    ai("8018", &[n(18).is(&[DigitSum, CompanyPrefix])])
        .attribute()
        .excludes(&["8017"])
        .key(&[&["8019"]]),
    ai("8019", &[n_to(10)]).needs(PERSON),
    ai("8020", &[x_to(25)]).needs(&[&["415"]]),
    ai(
        "8026",
        &[
            n(14).is(&[DigitSum, CompanyPrefixSecond]),
            n(4).is(&[PieceOfTotal]),
        ],
    )
    .attribute()
    .needs(&[&["37"]])
    .excludes(&["02", "03", "8006"]),
    ai("8030", &[z_to(90)]).attribute().needs(&[
        &["00"],
        &["01", "21"],
        &["03", "21"],
        &["253"],
        &["255"],
        &["8003"],
        &["8004"],
        &["8006", "21"],
        &["8010", "8011"],
        &["8017"],
        &["8018"],
    ]),
    ai("8040", &[n(15)]).needs(&[&["01", "21"]]),
    ai("8041", &[n(15)]).needs(PHONE),
    ai("8042", &[n(32)]).needs(PHONE),
    ai("8043", &[n(18), n_to(2).optional()]).needs(PHONE),
    ai("8110", &[x_to(70).is(&[Coupon])]).attribute(),
    ai("8111", &[n(4)]).attribute().needs(COUPON),
    ai("8112", &[x_to(70).is(&[CouponOffer])]).attribute(),
    ai("8200", &[x_to(70)]).needs(ITEM),
    ai("90", &[x_to(30)]).attribute(),
    range("91", "99", &[x_to(90)]).attribute(),
];
