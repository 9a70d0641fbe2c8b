//! Product, healthcare and personal details: AIs 70 to 72.

use crate::gs1::lint::Check::{
    CompanyPrefix, CountryOr999, Date, HourMinute, ImporterIndex, LongDate, MediaType, PackageType,
    Percent, PositionInSequence, Sex,
};
use crate::gs1::table::row::{Ai, ai, n, n_to, x, x_to};
use crate::gs1::table::row::{
    ITEM, ITEM_CONTENT_OR_MADE, ITEM_OR_ASSET, ITEM_OR_CONTENT, ITEM_OR_PIECE, PERSON, RECIPIENT,
    SERIAL_ITEM, UNIT,
};

pub(super) const ROWS: &[Ai] = &[
    ai("7001", &[n(13)]).attribute().needs(ITEM_OR_PIECE),
    ai("7002", &[x_to(30)]).attribute().needs(ITEM_OR_CONTENT),
    ai("7003", &[n(6).is(&[Date]), n(4).is(&[HourMinute])])
        .attribute()
        .needs(ITEM_CONTENT_OR_MADE),
    ai("7004", &[n_to(4)])
        .attribute()
        .needs(&[&["01", "10"], &["03", "10"]]),
    ai("7005", &[x_to(12)]).attribute().needs(ITEM_OR_CONTENT),
    ai("7006", &[n(6).is(&[Date])])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7007", &[n(6).is(&[Date]), n(6).is(&[Date]).optional()])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7008", &[x_to(3)]).attribute().needs(ITEM_OR_CONTENT),
    ai("7009", &[x_to(10)]).attribute().needs(ITEM_OR_CONTENT),
    ai("7010", &[x_to(2)])
        .attribute()
        .needs(ITEM_CONTENT_OR_MADE),
    ai(
        "7011",
        &[n(6).is(&[Date]), n(4).is(&[HourMinute]).optional()],
    )
    .attribute()
    .needs(ITEM_CONTENT_OR_MADE),
    ai("7020", &[x_to(20)])
        .attribute()
        .needs(&[&["01", "416"], &["03", "416"], &["8006", "416"]]),
    ai("7021", &[x_to(20)]).attribute().needs(SERIAL_ITEM),
    ai("7022", &[x_to(20)]).attribute().needs(&[
        &["01", "7021"],
        &["03", "7021"],
        &["8006", "7021"],
    ]),
    ai("7023", &[x_to(30).is(&[CompanyPrefix])]).attribute(),
    ai("7030", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7031", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7032", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7033", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7034", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7035", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7036", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7037", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7038", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7039", &[n(3).is(&[CountryOr999]), x_to(27)])
        .attribute()
        .needs(ITEM_OR_CONTENT),
    ai("7040", &[n(1), x(1), x(1), x(1).is(&[ImporterIndex])]),
    ai("7041", &[x_to(4).is(&[PackageType])]).needs(UNIT),
    ai("710", &[x_to(20)]).attribute().needs(ITEM),
    ai("711", &[x_to(20)]).attribute().needs(ITEM),
    ai("712", &[x_to(20)]).attribute().needs(ITEM),
    ai("713", &[x_to(20)]).attribute().needs(ITEM),
    ai("714", &[x_to(20)]).attribute().needs(ITEM),
    ai("715", &[x_to(20)]).attribute().needs(ITEM),
    ai("716", &[x_to(20)]).attribute().needs(ITEM),
    ai("717", &[x_to(20)]).attribute().needs(ITEM),
    ai("7230", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7231", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7232", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7233", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7234", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7235", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7236", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7237", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7238", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7239", &[x(2), x_to(28)])
        .attribute()
        .needs(ITEM_OR_ASSET),
    ai("7240", &[x_to(20)])
        .attribute()
        .needs(&[&["01"], &["8006"]])
        .excludes(&["03"]),
    ai("7241", &[n(2).is(&[MediaType])])
        .attribute()
        .needs(PERSON),
    ai("7242", &[x_to(25)]).attribute().needs(PERSON),
    ai("7250", &[n(8).is(&[LongDate])])
        .attribute()
        .needs(RECIPIENT)
        .excludes(&["7251"]),
    ai("7251", &[n(8).is(&[LongDate]), n(4).is(&[HourMinute])])
        .attribute()
        .needs(RECIPIENT)
        .excludes(&["7250"]),
    ai("7252", &[n(1).is(&[Sex])]).attribute().needs(RECIPIENT),
    ai("7253", &[x_to(40).is(&[Percent])])
        .attribute()
        .needs(PERSON)
        .excludes(&["7256", "7259"]),
    ai("7254", &[x_to(40).is(&[Percent])])
        .attribute()
        .needs(PERSON)
        .excludes(&["7256", "7259"]),
    ai("7255", &[x_to(10)])
        .attribute()
        .needs(PERSON)
        .excludes(&["7256", "7259"]),
    ai("7256", &[x_to(90).is(&[Percent])])
        .attribute()
        .needs(PERSON),
    ai("7257", &[x_to(70).is(&[Percent])])
        .attribute()
        .needs(RECIPIENT),
    ai("7258", &[x(3).is(&[PositionInSequence])])
        .attribute()
        .needs(&[&["8018", "7259"]]),
    ai("7259", &[x_to(40).is(&[Percent])])
        .attribute()
        .needs(RECIPIENT)
        .excludes(&["7256"]),
];
