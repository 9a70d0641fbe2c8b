//! Rules, their severities and sources, and what a rule says about one scan.

use crate::cases::Verdict;
use crate::word::words;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

words! {
    /// How much a finding weighs; the order is the order of weight.
    Severity, "severity" {
        /// A person must look.
        Look = "look",
        /// The item must not be used.
        Stop = "stop",
    }
}

words! {
    /// A rule that can speak about a scan.
    Rule, "rule" {
        /// The single-use piece is on a case already.
        AlreadyUsed = "already_used",
        /// A hold bars the product, lot or piece.
        OnHold = "on_hold",
        /// A recall notice names the item, or does not leave it out.
        Recalled = "recalled",
        /// The printed expiry is over.
        Expired = "expired",
        /// The case takes no more items.
        CaseClosed = "case_closed",
        /// The site has no such item on its shelves.
        NotInStock = "not_in_stock",
        /// The catalogue does not have the identifier.
        UnknownProduct = "unknown_product",
        /// The label has to carry something that was not read.
        IncompleteLabel = "incomplete_label",
        /// The printed expiry is near.
        ExpiresSoon = "expires_soon",
        /// The expiry of what arrives is near.
        ShortDated = "short_dated",
        /// The label's lot or expiry is not the one on record.
        RecordDiffers = "record_differs",
        /// The check digit is wrong, and the catalogue has the identifier so.
        WrongCheckDigitButKnown = "wrong_check_digit_but_known",
        /// A lost separator may have joined two values.
        SeparatorSuspect = "separator_suspect",
        /// The label gives a month without a day.
        DayNotOnLabel = "day_not_on_label",
        /// The load of a reusable piece is held.
        LoadFailed = "load_failed",
        /// A reusable piece has no released load since its last use.
        LoadNotReleased = "load_not_released",
        /// A reusable piece is past its maker's limit of cycles.
        CyclesExhausted = "cycles_exhausted",
        /// A mix is past its use-by.
        MixPastUseBy = "mix_past_use_by",
        /// What is left in a gas cylinder may not last for the case, or cannot be computed.
        CylinderLow = "cylinder_low",
        /// The retest mark of a cylinder has run out.
        RetestDue = "retest_due",
        /// Nobody read the name on a cylinder's label back.
        LabelNotReadBack = "label_not_read_back",
        /// A multi-dose vial is past its last day.
        VialPastLastDay = "vial_past_last_day",
        /// A person took the equipment out of service.
        OutOfService = "out_of_service",
        /// The calibration of equipment is due, or not on record.
        CalibrationDue = "calibration_due",
        /// The maintenance of equipment is due.
        MaintenanceDue = "maintenance_due",
        /// The filter's life is over, or may not last for the case.
        FilterSpent = "filter_spent",
        /// The clock of the station that held a scan is not the service's.
        ClockDiffers = "clock_differs",
        /// The same characters are on this case already.
        SameScanAgain = "same_scan_again",
    }
}

impl Rule {
    /// The weight of the rule's findings.
    #[must_use]
    pub const fn severity(self) -> Severity {
        match self {
            Self::AlreadyUsed
            | Self::OnHold
            | Self::Recalled
            | Self::Expired
            | Self::CaseClosed
            | Self::LoadFailed
            | Self::LoadNotReleased
            | Self::CyclesExhausted
            | Self::MixPastUseBy
            | Self::VialPastLastDay
            | Self::OutOfService => Severity::Stop,
            Self::NotInStock
            | Self::UnknownProduct
            | Self::IncompleteLabel
            | Self::ExpiresSoon
            | Self::ShortDated
            | Self::RecordDiffers
            | Self::WrongCheckDigitButKnown
            | Self::SeparatorSuspect
            | Self::DayNotOnLabel
            | Self::CylinderLow
            | Self::RetestDue
            | Self::LabelNotReadBack
            | Self::CalibrationDue
            | Self::MaintenanceDue
            | Self::FilterSpent
            | Self::ClockDiffers
            | Self::SameScanAgain => Severity::Look,
        }
    }

    /// Where the rule comes from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::AlreadyUsed => {
                "Single-use labelling: ISO 15223-1, 5.4.2 (do not re-use); FD&C 502(u), 502(v)"
            }
            Self::OnHold => {
                "The site's hold; ISO 13485:2016, 8.3 (control of nonconforming product)"
            }
            Self::Recalled => "The notice; 21 CFR 7.49(c) (further use must cease immediately)",
            Self::Expired => {
                "The label's use-by date, ISO 15223-1, 5.1.4; usable through the printed day: \
                 common practice, no source"
            }
            Self::CaseClosed => "21 CFR 11.10(f) (permitted sequencing of steps)",
            Self::NotInStock => "The site's stock record; common practice, no source",
            Self::UnknownProduct => "The site's catalogue; common practice, no source",
            Self::IncompleteLabel => {
                "21 CFR 801.40(b) (production identifiers); the catalogue's label flags"
            }
            Self::ExpiresSoon => "The site's policy, expires_soon_days",
            Self::ShortDated => "The site's policy, short_dated_days; common practice, no source",
            Self::RecordDiffers => {
                "The site's record of the lot or piece; common practice, no source"
            }
            Self::WrongCheckDigitButKnown => {
                "GS1 General Specifications, 7.9 (check digit); ANSI/HIBC 2.6 (check character)"
            }
            Self::SeparatorSuspect => "GS1 General Specifications, 7.8 (FNC1 as separator)",
            Self::DayNotOnLabel => {
                "GS1 General Specifications, 3.4 (day 00 is the last day of the month)"
            }
            Self::LoadFailed => {
                "CDC Guideline for Disinfection and Sterilization, 2008, updated 2019 (positive \
                 spore tests); ANSI/AAMI ST79, from memory"
            }
            Self::LoadNotReleased => "ANSI/AAMI ST79 (release of loads), from memory",
            Self::CyclesExhausted => "The maker's limit with the site's source for it",
            Self::MixPastUseBy => {
                "The site's use-by rule with its own source, and the last days of the ingredients; \
                 for immediate use USP <797> section 1.3, from memory"
            }
            Self::CylinderLow => {
                "The gauge with its accuracy, the virial equation of helium (coefficients fitted to \
                 CoolProp 8.0.0), and the site's expected use; that the low end of the band decides: \
                 common practice, no source"
            }
            Self::RetestDue => {
                "49 CFR 180.209(a) (retest interval); 180.209(b) (star) and 180.205(c) (filled before \
                 its due date), from memory"
            }
            Self::LabelNotReadBack => {
                "CGA C-9: the label identifies the contents, the outlet is second, colour only an aid"
            }
            Self::VialPastLastDay => {
                "USP <797> section 15.2, from memory, and CDC's injection-safety questions: 28 days after \
                 the first puncture unless the maker says otherwise; the label's last day"
            }
            Self::OutOfService => "The site's record of the equipment; common practice, no source",
            Self::CalibrationDue => {
                "The calibration's certificate; the site's policy, due_equipment_stops"
            }
            Self::MaintenanceDue => {
                "The maker's or the site's interval; the site's policy, due_equipment_stops"
            }
            Self::FilterSpent => {
                "The maker's life of the filter; the site's policy, due_equipment_stops"
            }
            Self::ClockDiffers => {
                "The site's policy, clock_skew_seconds; 21 CFR 11.10(e) (time-stamped audit trails)"
            }
            Self::SameScanAgain => "Common practice, no source",
        }
    }
}

/// The worst severity of findings in the words of a verdict.
#[must_use]
pub fn verdict_of(findings: &[Finding]) -> Verdict {
    match findings.iter().map(|finding| finding.severity).max() {
        None => Verdict::Taken,
        Some(Severity::Look) => Verdict::Look,
        Some(Severity::Stop) => Verdict::Stop,
    }
}

/// What one rule says about one scan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// The rule.
    pub slug: Rule,
    /// Its weight.
    pub severity: Severity,
    /// Which of the rule's sentences it is; empty where the rule has one alone.
    #[serde(skip_serializing_if = "str::is_empty")]
    pub variant: &'static str,
    /// The values in the sentence, by name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub data: BTreeMap<&'static str, String>,
    /// One plain sentence for the person at the station; never a patient's identity.
    pub sentence: String,
    /// Where the rule comes from.
    pub source: Cow<'static, str>,
}
