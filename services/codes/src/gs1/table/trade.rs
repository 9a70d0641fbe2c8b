//! Counts, prices, orders, parties and shipping: AIs 37 to 43.

use crate::gs1::lint::Check::{
    CompanyPrefix, Country, CountryLetters, Currency, Date, DateOrMonth, DigitSum, HourMinute,
    Hyphen, Latitude, Longitude, Percent, YesNo,
};
use crate::gs1::table::row::{
    ANY_ITEM, COUPON, ITEM_CONTENT_OR_MADE, MEASURED, NONE, PAYMENT, UNIT,
};
use crate::gs1::table::row::{Ai, ai, n, n_to, range, x, x_to};

pub(super) const ROWS: &[Ai] = &[
    ai("37", &[n_to(8)])
        .attribute()
        .needs(&[&["00", "02"], &["00", "8026"]]),
    range("3900", "3909", &[n_to(15)])
        .attribute()
        .needs(&[&["255"], &["8020"]])
        .excludes(&["390n", "391n", "394n", "8111"]),
    range("3910", "3919", &[n(3).is(&[Currency]), n_to(15)])
        .attribute()
        .needs(PAYMENT)
        .excludes(&["391n"]),
    range("3920", "3929", &[n_to(15)])
        .attribute()
        .needs(&[
            &["01", "30"],
            &["01", "31nn"],
            &["01", "32nn"],
            &["01", "35nn"],
            &["01", "36nn"],
        ])
        .excludes(&["392n", "393n"]),
    range("3930", "3939", &[n(3).is(&[Currency]), n_to(15)])
        .attribute()
        .needs(MEASURED)
        .excludes(&["393n"]),
    range("3940", "3943", &[n(4)])
        .attribute()
        .needs(COUPON)
        .excludes(&["394n", "8111"]),
    range("3950", "3955", &[n(6)])
        .attribute()
        .needs(MEASURED)
        .excludes(&["392n", "393n", "395n", "8005"]),
    ai("400", &[x_to(30)]).attribute(),
    ai("401", &[x_to(30).is(&[CompanyPrefix])])
        .attribute()
        .key(NONE),
    ai("402", &[n(17).is(&[DigitSum, CompanyPrefix])])
        .attribute()
        .key(NONE),
    ai("403", &[x_to(30)]).attribute().needs(UNIT),
    ai("410", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute(),
    ai("411", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute(),
    ai("412", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute(),
    ai("413", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute(),
    ai("414", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute()
        .key(&[&["254"], &["7040"]]),
    ai("415", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute()
        .needs(PAYMENT)
        .key(&[&["8020"]]),
    ai("416", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute(),
    ai("417", &[n(13).is(&[DigitSum, CompanyPrefix])])
        .fixed()
        .attribute()
        .key(&[&["7040"]]),
    ai("420", &[x_to(20)]).attribute().excludes(&["421"]),
    ai("421", &[n(3).is(&[Country]), x_to(9)])
        .attribute()
        .excludes(&["4307"]),
    ai("422", &[n(3).is(&[Country])])
        .attribute()
        .needs(ANY_ITEM)
        .excludes(&["426"]),
    ai(
        "423",
        &[
            n(3).is(&[Country]),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
        ],
    )
    .attribute()
    .needs(ITEM_CONTENT_OR_MADE)
    .excludes(&["426"]),
    ai("424", &[n(3).is(&[Country])])
        .attribute()
        .needs(ITEM_CONTENT_OR_MADE)
        .excludes(&["426"]),
    ai(
        "425",
        &[
            n(3).is(&[Country]),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
            n(3).is(&[Country]).optional(),
        ],
    )
    .attribute()
    .needs(ITEM_CONTENT_OR_MADE)
    .excludes(&["426"]),
    ai("426", &[n(3).is(&[Country])])
        .attribute()
        .needs(ITEM_CONTENT_OR_MADE),
    ai("427", &[x_to(3)])
        .attribute()
        .needs(&[&["01", "422"], &["02", "422"], &["03", "422"]]),
    ai("4300", &[x_to(35).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4301", &[x_to(35).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4302", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4303", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(&[&["4302"]]),
    ai("4304", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4305", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4306", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4307", &[x(2).is(&[CountryLetters])])
        .attribute()
        .needs(UNIT),
    ai("4308", &[x_to(30)]).attribute().needs(UNIT),
    ai("4309", &[n(10).is(&[Latitude]), n(10).is(&[Longitude])])
        .attribute()
        .needs(UNIT),
    ai("4310", &[x_to(35).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4311", &[x_to(35).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4312", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4313", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(&[&["4312"]]),
    ai("4314", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4315", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4316", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4317", &[x(2).is(&[CountryLetters])])
        .attribute()
        .needs(UNIT),
    ai("4318", &[x_to(20)]).attribute().needs(UNIT),
    ai("4319", &[x_to(30)]).attribute().needs(UNIT),
    ai("4320", &[x_to(35).is(&[Percent])])
        .attribute()
        .needs(UNIT),
    ai("4321", &[n(1).is(&[YesNo])]).attribute().needs(UNIT),
    ai("4322", &[n(1).is(&[YesNo])]).attribute().needs(UNIT),
    ai("4323", &[n(1).is(&[YesNo])]).attribute().needs(UNIT),
    ai("4324", &[n(6).is(&[DateOrMonth]), n(4).is(&[HourMinute])])
        .attribute()
        .needs(UNIT),
    ai("4325", &[n(6).is(&[DateOrMonth]), n(4).is(&[HourMinute])])
        .attribute()
        .needs(UNIT),
    ai("4326", &[n(6).is(&[Date])]).attribute().needs(UNIT),
    ai("4330", &[n(6), x(1).is(&[Hyphen]).optional()])
        .attribute()
        .needs(UNIT)
        .excludes(&["4331"]),
    ai("4331", &[n(6), x(1).is(&[Hyphen]).optional()])
        .attribute()
        .needs(UNIT)
        .excludes(&["4330"]),
    ai("4332", &[n(6), x(1).is(&[Hyphen]).optional()])
        .attribute()
        .needs(UNIT)
        .excludes(&["4333"]),
    ai("4333", &[n(6), x(1).is(&[Hyphen]).optional()])
        .attribute()
        .needs(UNIT)
        .excludes(&["4332"]),
];
