//! Items, their lots, serials and dates: AIs 00 to 30.

use crate::gs1::lint::Check::{CompanyPrefix, CompanyPrefixSecond, DateOrMonth, DigitSum};
use crate::gs1::table::row::{
    ANY_ITEM, ITEM, ITEM_OR_CONTENT, ITEM_OR_PIECE, NONE, PAYMENT, SERIAL_ITEM,
};
use crate::gs1::table::row::{Ai, ai, n, n_to, x_to};

pub(super) const ROWS: &[Ai] = &[
    ai("00", &[n(18).is(&[DigitSum, CompanyPrefixSecond])])
        .fixed()
        .attribute()
        .key(NONE),
    ai("01", &[n(14).is(&[DigitSum, CompanyPrefixSecond])])
        .fixed()
        .attribute()
        .excludes(&["255", "37"])
        .key(&[&["22", "10", "21"], &["235"]]),
    ai("02", &[n(14).is(&[DigitSum, CompanyPrefixSecond])])
        .fixed()
        .attribute()
        .excludes(&["01", "03"])
        .needs(&[&["37"]]),
    ai("03", &[n(14).is(&[DigitSum, CompanyPrefixSecond])])
        .fixed()
        .excludes(&["01", "02", "37", "235"]),
    ai("10", &[x_to(20)]).attribute().needs(ANY_ITEM),
    ai("11", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(ANY_ITEM),
    ai("12", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(PAYMENT),
    ai("13", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(ANY_ITEM),
    ai("15", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(ANY_ITEM),
    ai("16", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(ANY_ITEM),
    ai("17", &[n(6).is(&[DateOrMonth])])
        .fixed()
        .attribute()
        .needs(&[&["01"], &["02"], &["03"], &["255"], &["8006"], &["8026"]]),
    ai("20", &[n(2)]).fixed().attribute().needs(ANY_ITEM),
    ai("21", &[x_to(20)]).needs(SERIAL_ITEM).excludes(&["235"]),
    ai("22", &[x_to(20)]).needs(ITEM),
    ai("235", &[x_to(28)]).needs(ITEM),
    ai("240", &[x_to(30)]).attribute().needs(ANY_ITEM),
    ai("241", &[x_to(30)]).attribute().needs(ANY_ITEM),
    ai("242", &[n_to(6)]).attribute().needs(ITEM_OR_PIECE),
    ai("243", &[x_to(20)])
        .attribute()
        .needs(&[&["01"], &["03"]]),
    ai("250", &[x_to(30)])
        .attribute()
        .needs(&[&["01", "21"], &["03", "21"], &["8006", "21"]]),
    ai("251", &[x_to(30)]).attribute().needs(SERIAL_ITEM),
    ai(
        "253",
        &[n(13).is(&[DigitSum, CompanyPrefix]), x_to(17).optional()],
    )
    .attribute()
    .key(NONE),
    ai("254", &[x_to(20)]).needs(&[&["414"]]),
    ai(
        "255",
        &[n(13).is(&[DigitSum, CompanyPrefix]), n_to(12).optional()],
    )
    .attribute()
    .key(NONE)
    .excludes(&["01", "02", "415", "8006", "8020", "8026"]),
    ai("30", &[n_to(8)]).attribute().needs(ITEM_OR_CONTENT),
];
