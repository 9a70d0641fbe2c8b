//! `GET /v1/notice-policy` and `PUT /v1/notice-policy`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply, tagged};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, put};
use lotwarden_domain::access::act;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::{
    Language, LetterField, NoticePolicy, TargetUnit, TaskKind, TaskTarget,
};
use lotwarden_store::notices::{
    ChangeNoticePolicy, ChangeNoticePolicyRefusal, NoticeSettings, show_settings,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How long a task of a notice of a class may take.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TaskTargetRow {
    /// The task: `quarantine`, `patient_review`, `outreach`, `disposal`, `effectiveness`, `answer`
    /// or `closing`.
    #[schema(value_type = String, example = "quarantine", pattern = "^(quarantine|patient_review|outreach|disposal|effectiveness|answer|closing)$")]
    kind: TaskKind,
    /// The class of the notice; one without a class counts as class `I`.
    #[schema(value_type = String, example = "I", pattern = "^(I|II|III)$")]
    class: RecallClass,
    /// How many.
    #[schema(example = 4, minimum = 1, maximum = 8760)]
    after: u16,
    /// `hours` from the confirmation on, `work_days` after its day, or `days`.
    #[schema(value_type = String, example = "hours", pattern = "^(days|hours|work_days)$")]
    unit: TargetUnit,
}

/// The texts of letters to patients: each may name fields in braces.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LetterTexts {
    /// In German.
    #[schema(
        example = "Guten Tag, {patient_name}, {firm} ruft zurück:\n{items}\n",
        min_length = 1,
        max_length = 10000
    )]
    de: String,
    /// In English.
    #[schema(
        example = "Dear {patient_name}, {firm} recalls:\n{items}\n",
        min_length = 1,
        max_length = 10000
    )]
    en: String,
}

/// New settings of the recall desk, with the reason.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoticePolicyChange {
    /// The letters.
    letters: LetterTexts,
    /// Whom the outbox's mail comes from; left out for no mail.
    #[serde(default)]
    #[schema(example = "recall-desk@harbour.example.org", max_length = 254)]
    mail_from: Option<String>,
    /// The site's own addresses that are told of notices and tasks by mail.
    #[serde(default)]
    #[schema(max_items = 20)]
    mail_to: Vec<String>,
    /// Hours before a task is due at which somebody is reminded.
    #[schema(example = 24, minimum = 1, maximum = 720)]
    remind_hours: u16,
    /// One target for each task and class.
    #[schema(min_items = 21, max_items = 21)]
    targets: Vec<TaskTargetRow>,
    /// Why they change.
    #[schema(
        example = "The board asked for shorter times.",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl NoticePolicyChange {
    fn policy(&self) -> NoticePolicy {
        let targets = self.targets.iter().map(|row| TaskTarget {
            after: row.after,
            class: row.class,
            kind: row.kind,
            unit: row.unit,
        });
        let LetterTexts { de, en } = self.letters.clone();
        NoticePolicy {
            letters: [(Language::German, de), (Language::English, en)].into(),
            mail_from: self.mail_from.clone(),
            mail_to: self.mail_to.iter().take(100).cloned().collect(),
            remind_hours: self.remind_hours,
            targets: targets.take(100).collect(),
        }
    }
}

impl Checked for NoticePolicyChange {
    fn check(&self, errors: &mut Fields) {
        if let Err(faults) = self.policy().check() {
            for (pointer, fault) in faults {
                errors.require(false, &pointer, &fault.to_string());
            }
        }
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// The settings of the recall desk.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticePolicyShown {
    /// The letters.
    letters: LetterTexts,
    /// What a letter's text may name in braces.
    letter_fields: Vec<&'static str>,
    /// Whom the outbox's mail comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    mail_from: Option<String>,
    /// The site's own addresses that are told of notices and tasks by mail.
    mail_to: Vec<String>,
    /// Hours before a task is due at which somebody is reminded.
    remind_hours: u16,
    /// One target for each task and class.
    targets: Vec<TaskTargetRow>,
    /// Counts the changes; the entity tag.
    version: i32,
}

impl From<&NoticeSettings> for NoticePolicyShown {
    fn from(settings: &NoticeSettings) -> Self {
        let policy = &settings.policy;
        let targets = policy.targets.iter().map(|one| TaskTargetRow {
            kind: one.kind,
            class: one.class,
            after: one.after,
            unit: one.unit,
        });
        Self {
            letters: LetterTexts {
                de: policy.letter(Language::German).to_owned(),
                en: policy.letter(Language::English).to_owned(),
            },
            letter_fields: LetterField::ALL
                .iter()
                .map(|field| field.as_str())
                .collect(),
            mail_from: policy.mail_from.clone(),
            mail_to: policy.mail_to.clone(),
            remind_hours: policy.remind_hours,
            targets: targets.collect(),
            version: settings.version,
        }
    }
}

impl From<ChangeNoticePolicyRefusal> for ApiError {
    fn from(refusal: ChangeNoticePolicyRefusal) -> Self {
        match refusal {
            ChangeNoticePolicyRefusal::Stale => ApiError::new(&catalogue::STALE),
        }
    }
}

/// Shows the settings of the recall desk: the site's targets by class and its letters to patients.
#[utoipa::path(
    operation_id = "show_notice_policy", tag = "notices",
    responses((status = 200, description = "The settings.", body = NoticePolicyShown), Refusals),
)]
#[get("/v1/notice-policy")]
pub(super) async fn show_notice_policy(
    allowed: Allowed<act::ShowNoticePolicy>,
    app: Data<App>,
    request: HttpRequest,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let settings = show_settings(&mut reading).await?;
    let shown = NoticePolicyShown::from(&settings);
    Ok(tagged(&request, settings.version, &shown))
}

/// Changes the settings of the recall desk; old, new and the reason stand in the ledger. Tasks that
/// are open keep the due time they have.
#[utoipa::path(
    operation_id = "change_notice_policy", tag = "notices", request_body = NoticePolicyChange,
    params(Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = NoticePolicyShown), Refusals),
)]
#[put("/v1/notice-policy")]
pub(super) async fn change_notice_policy(
    allowed: Allowed<act::ChangeNoticePolicy>,
    app: Data<App>,
    version: IfMatch,
    keyed: Keyed<NoticePolicyChange>,
) -> Result<HttpResponse, ApiError> {
    let operation = ChangeNoticePolicy {
        version: version.0,
        policy: keyed.body.policy(),
        reason: keyed.body.reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |settings, receipt| {
            let shown = NoticePolicyShown::from(settings);
            render(StatusCode::OK, &shown, receipt, Some(settings.version))
        },
    );
    Ok(reply(recorded.await?))
}
