//! A mix in the words of the API.

use crate::cases::Finding;
use crate::http::answer::render;
use crate::http::{Exact, Step};
use actix_web::http::StatusCode;
use jiff::civil::Date;
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::mixes::Amount;
use lotwarden_domain::rules;
use lotwarden_store::mixes as store;
use lotwarden_store::moment::instant_text;
use lotwarden_store::{Receipt, Rendered};
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;
use uuid::Uuid;

/// A mix as it stands, without the patient's weight.
#[derive(Debug, Serialize, ToSchema)]
pub struct Mix {
    /// The mix.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// What the team calls it.
    #[schema(example = "Bag A")]
    name: String,
    /// The order in words.
    written_order: String,
    /// The SHA-256 of the order as it was signed, the weight as its commitment.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    order_hash: String,
    /// Minutes from the start of preparation within which it is used.
    #[schema(example = 240)]
    use_within_minutes: i32,
    /// Where the site has that time from.
    #[schema(example = "Site policy 12, after USP <797>")]
    use_by_source: String,
    /// `ordered`, `made`, `checked` or `closed`.
    #[schema(example = "checked")]
    status: &'static str,
    /// Who signed the order, and when.
    ordered: Step,
    /// Who made it, and when it was ready.
    #[serde(skip_serializing_if = "Option::is_none")]
    made: Option<Step>,
    /// When preparation started.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    started_at: Option<String>,
    /// Until when it may be used: the site's time, or the end of the earliest last day of an
    /// ingredient.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    use_by: Option<String>,
    /// The second person's check.
    #[serde(skip_serializing_if = "Option::is_none")]
    checked: Option<Step>,
    /// What it was made from.
    ingredients: Vec<MixIngredient>,
    /// Different products in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    sterile_products: Option<SterileProducts>,
    /// What is in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    mixture: Option<MixContents>,
    /// What was given, and what was asked for and stopped, oldest first.
    doses: Vec<Dose>,
    /// What became of its volume.
    #[serde(skip_serializing_if = "Option::is_none")]
    balance: Option<Balance>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// An ingredient.
#[derive(Debug, Serialize, ToSchema)]
pub struct MixIngredient {
    /// The scan that put it on the case.
    scan_id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its name.
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// How much.
    volume_ml: Exact,
    /// The last day of its container.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    last_day: Option<Date>,
    /// What is in it.
    strengths: Vec<StrengthShown>,
}

/// How much of a substance a millilitre holds.
#[derive(Debug, Serialize, ToSchema)]
pub struct StrengthShown {
    /// The substance.
    #[schema(example = "lidocaine")]
    substance: String,
    /// Milligrams.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg_per_ml: Option<Exact>,
    /// Milliequivalents.
    #[serde(skip_serializing_if = "Option::is_none")]
    meq_per_ml: Option<Exact>,
}

/// Different products in a mix beside the limit of immediate use (USP <797> section 1.3, from
/// memory; the site's policy decides).
#[derive(Debug, Serialize, ToSchema)]
pub struct SterileProducts {
    /// Different products; two containers of one count once.
    count: usize,
    /// The limit.
    limit: usize,
    /// The sentence that is shown.
    #[schema(
        example = "4 of 3 - outside the immediate-use provision; pharmacist/practitioner decides"
    )]
    sentence: String,
}

/// What is in a mix, over its whole volume.
#[derive(Debug, Serialize, ToSchema)]
pub struct MixContents {
    /// The whole volume, diluents included.
    volume_ml: Exact,
    /// By substance.
    substances: Vec<Concentration>,
}

/// A substance in a mix.
#[derive(Debug, Serialize, ToSchema)]
pub struct Concentration {
    /// The substance.
    #[schema(example = "lidocaine")]
    substance: String,
    /// Milligrams in the whole mix.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg: Option<Exact>,
    /// Milligrams a litre.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg_per_litre: Option<Exact>,
    /// Milliequivalents in the whole mix.
    #[serde(skip_serializing_if = "Option::is_none")]
    meq: Option<Exact>,
    /// Milliequivalents a litre.
    #[serde(skip_serializing_if = "Option::is_none")]
    meq_per_litre: Option<Exact>,
    /// Milligrams in what was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    given_mg: Option<Exact>,
    /// Milliequivalents in what was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    given_meq: Option<Exact>,
}

/// A volume that was given, or asked for and stopped.
#[derive(Debug, Serialize, ToSchema)]
pub struct Dose {
    /// The dose.
    id: Uuid,
    /// The zone.
    zone: String,
    /// The volume.
    volume_ml: Exact,
    /// `taken`, or `stop` for one that was not given.
    #[schema(value_type = String, example = "taken")]
    verdict: Verdict,
    /// What the rules said.
    #[schema(value_type = Vec<Finding>)]
    findings: serde_json::Value,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// Mixed = given + discarded + left + difference.
#[derive(Debug, Serialize, ToSchema)]
pub struct Balance {
    /// Mixed.
    mixed_ml: Exact,
    /// Given.
    given_ml: Exact,
    /// Discarded.
    discarded_ml: Exact,
    /// Left in the container.
    left_ml: Exact,
    /// What is not accounted for; before closing, what is still there.
    difference_ml: Exact,
    /// Why the volumes do not add up.
    #[serde(skip_serializing_if = "Option::is_none")]
    explanation: Option<String>,
}

/// A mix after a step, or as it was when a rule stopped the step.
#[derive(Debug, Serialize, ToSchema)]
pub struct MixJudged {
    /// `taken`, or `stop`: the step is on record and was not taken.
    #[schema(value_type = String, example = "taken")]
    verdict: Verdict,
    /// What the rules say, each with its source.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
    /// The mix.
    mix: Mix,
}

/// A computed amount with at most six places after the point.
pub(super) fn shown(amount: Decimal) -> Exact {
    Exact(amount.round_dp(6).normalize())
}

/// The answer to a step of a mix.
pub(super) fn judged(judged: &store::Judged, receipt: Receipt) -> Rendered {
    let verdict = if judged.findings.is_empty() {
        Verdict::Taken
    } else {
        Verdict::Stop
    };
    let answer = MixJudged {
        verdict,
        findings: judged.findings.clone(),
        mix: Mix::from(&judged.mix),
    };
    let version = Some(judged.mix.version);
    render(StatusCode::CREATED, &answer, receipt, version)
}

impl From<&store::Mix> for Mix {
    fn from(mix: &store::Mix) -> Self {
        let status = match (&mix.made, &mix.checked, &mix.closed) {
            (_, _, Some(_)) => "closed",
            (_, Some(_), None) => "checked",
            (Some(_), None, None) => "made",
            (None, None, None) => "ordered",
        };
        let made = mix.made.as_ref();
        Self {
            id: mix.id,
            case_id: mix.case,
            name: mix.name.clone(),
            written_order: mix.written_order.clone(),
            order_hash: mix.order_hash.to_string(),
            use_within_minutes: mix.use_within_minutes,
            use_by_source: mix.use_by_source.clone(),
            status,
            ordered: (&mix.ordered).into(),
            made: made.map(|made| (&made.step).into()),
            started_at: made.map(|made| instant_text(made.started_at)),
            use_by: made.map(|made| instant_text(made.use_by)),
            checked: mix.checked.as_ref().map(Step::from),
            ingredients: mix.ingredients.iter().map(MixIngredient::from).collect(),
            sterile_products: made.map(|_| SterileProducts::of(mix)),
            mixture: MixContents::of(mix),
            doses: mix.doses.iter().map(Dose::from).collect(),
            balance: Balance::of(mix),
            version: mix.version,
        }
    }
}

impl From<&store::MixIngredient> for MixIngredient {
    fn from(ingredient: &store::MixIngredient) -> Self {
        let strengths = ingredient.strengths.iter();
        Self {
            scan_id: ingredient.scan,
            product_id: ingredient.product.0,
            product_name: ingredient.product.1.clone(),
            lot_id: ingredient.lot.0,
            lot: ingredient.lot.1.clone(),
            volume_ml: ingredient.volume_ml.into(),
            last_day: ingredient.last_day,
            strengths: strengths.map(StrengthShown::from).collect(),
        }
    }
}

impl From<&store::SubstanceStrength> for StrengthShown {
    fn from(strength: &store::SubstanceStrength) -> Self {
        Self {
            substance: strength.substance.clone(),
            mg_per_ml: strength.mg_per_ml.map(shown),
            meq_per_ml: strength.meq_per_ml.map(shown),
        }
    }
}

impl SterileProducts {
    fn of(mix: &store::Mix) -> Self {
        let products = mix.sterile_products();
        let (count, limit) = (products.count, products.limit);
        let outside = if products.outside() {
            " - outside the immediate-use provision; pharmacist/practitioner decides"
        } else {
            ""
        };
        Self {
            count,
            limit,
            sentence: format!("{count} of {limit}{outside}"),
        }
    }
}

impl MixContents {
    fn of(mix: &store::Mix) -> Option<Self> {
        let mixture = mix.mixture()?;
        let mut per_litre = mixture.amounts_per_litre();
        let mut given = mix.given();
        let take =
            |from: &mut BTreeMap<String, Amount>, name: &str| from.remove(name).unwrap_or_default();
        let substances = mixture.amounts.iter().map(|(substance, whole)| {
            let (litre, given) = (take(&mut per_litre, substance), take(&mut given, substance));
            Concentration {
                substance: substance.clone(),
                mg: whole.mg.map(shown),
                mg_per_litre: litre.mg.map(shown),
                meq: whole.meq.map(shown),
                meq_per_litre: litre.meq.map(shown),
                given_mg: given.mg.map(shown),
                given_meq: given.meq.map(shown),
            }
        });
        Some(Self {
            substances: substances.collect(),
            volume_ml: shown(mixture.volume_ml),
        })
    }
}

impl From<&store::Dose> for Dose {
    fn from(dose: &store::Dose) -> Self {
        Self {
            id: dose.id,
            zone: dose.zone.clone(),
            volume_ml: dose.volume_ml.into(),
            verdict: if dose.given {
                Verdict::Taken
            } else {
                Verdict::Stop
            },
            findings: dose.findings.clone(),
            at: instant_text(dose.at),
        }
    }
}

impl Balance {
    fn of(mix: &store::Mix) -> Option<Self> {
        let balance = mix.balance()?;
        let closed = mix.closed.as_ref();
        Some(Self {
            mixed_ml: shown(balance.mixed_ml),
            given_ml: shown(balance.given_ml),
            discarded_ml: shown(balance.wasted_ml),
            left_ml: shown(balance.left_ml),
            difference_ml: shown(balance.difference_ml()),
            explanation: closed.and_then(|closed| closed.explanation.clone()),
        })
    }
}
