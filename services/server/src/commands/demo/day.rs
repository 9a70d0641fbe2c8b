//! `lotwarden demo day` and `demo recall`: over HTTP, as the people of the facility live it.

mod client;
mod closing;
mod equipment;
mod evidence;
mod first_case;
mod recall;
mod receiving;
mod report;
mod rounds;
mod scanning;
mod second_case;
mod whole_record;

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use jiff::civil::Date;
use lotwarden_domain::{Clock, SystemClock};
use serde_json::Value;
use uuid::Uuid;

use super::staff;
use super::{FACILITY, Played, day_of};
use crate::commands::serve::pid_file::{self, Address};
use crate::settings::Settings;
use crate::tls;
use client::{Client, Session};
use report::Report;

/// The day while it is played.
struct Day {
    client: Client,
    people: People,
    report: Report,
    /// The facility's civil day.
    today: Date,
    /// Makes this run's lots, serials and record numbers its own.
    run: String,
    data_dir: PathBuf,
    /// Whether the documents are written there.
    documents: bool,
    places: Places,
}

/// Who is signed in.
struct People {
    materials: Session,
    circulator: Session,
    practitioner: Session,
    compliance: Session,
}

/// Where things are.
struct Places {
    room: String,
    shelf: String,
    station: String,
}

/// Plays the day and sums up; 1 when a step did not come out as the day expects.
///
/// # Errors
/// The service does not answer, or a step that later ones need was refused.
pub fn run(settings: &Settings, played: &Played, documents: bool) -> anyhow::Result<ExitCode> {
    let mut day = begin(settings, played)?;
    day.documents = documents;
    day.report.title(&format!(
        "{FACILITY}, a day of {}. The times on the left are the day's; the ledger keeps the real ones.",
        day.today
    ))?;
    let stock = day.receive()?;
    let first = day.first_case(&stock)?;
    day.second_case(&stock)?;
    day.whole_record(&stock)?;
    day.evidence(&stock, &first)?;
    day.report.sum_up()
}

/// Plays one notice from its letter to its close and sums up, as [`run`] does.
///
/// # Errors
/// As [`run`].
pub fn run_recall(settings: &Settings, played: &Played) -> anyhow::Result<ExitCode> {
    let mut day = begin(settings, played)?;
    day.report.title(&format!(
        "{FACILITY}, a recall notice. The times on the left are the story's; the ledger keeps the real ones."
    ))?;
    day.recall()?;
    day.report.sum_up()
}

/// Signs everybody in.
fn begin(settings: &Settings, played: &Played) -> anyhow::Result<Day> {
    let file = staff::file(&settings.data_dir);
    let accounts = staff::read(&file)?.with_context(|| {
        format!(
            "there is no {}; `lotwarden demo load` makes it",
            file.display()
        )
    })?;
    let base = match &played.url {
        Some(url) => url.trim_end_matches('/').to_owned(),
        None => own_address(settings)?,
    };
    let trust = match &played.authority {
        Some(file) => tls::Trust::Authority(file),
        None => tls::Trust::OfSettings(settings),
    };
    let client = Client::new(base, trust)?;
    let sign_in = |role: &str| {
        let account = accounts.iter().find(|one| one.role == role);
        let account = account.with_context(|| format!("{} has no {role}", file.display()))?;
        client.sign_in(account)
    };
    let people = People {
        materials: sign_in("materials")?,
        circulator: sign_in("circulator")?,
        practitioner: sign_in("practitioner")?,
        compliance: sign_in("compliance")?,
    };
    let places = places(&client, &people.circulator)?;
    let random = Uuid::new_v4().simple().to_string().to_uppercase();
    Ok(Day {
        client,
        people,
        report: Report::new(played.json),
        today: day_of(SystemClock.now())?,
        run: random.chars().take(6).collect(),
        data_dir: settings.data_dir.clone(),
        documents: false,
        places,
    })
}

/// The address of the service that runs on this data directory, or the one it would listen on.
fn own_address(settings: &Settings) -> anyhow::Result<String> {
    let running = pid_file::running(&settings.data_dir)?;
    let address = running.and_then(|running| running.address);
    let address = address.unwrap_or(Address {
        socket: settings.listen,
        tls: tls::files(settings).is_some(),
    });
    Ok(address.here().to_string())
}

fn places(client: &Client, who: &Session) -> anyhow::Result<Places> {
    let first = |path: &str, fits: &dyn Fn(&Value) -> bool| {
        let found = client.get(who, path)?.expect(200)?;
        let items = found["items"].as_array().cloned().unwrap_or_default();
        let item = items.into_iter().find(|item| fits(item));
        let id = item.as_ref().and_then(|item| item["id"].as_str());
        id.map(str::to_owned)
            .with_context(|| format!("{path} does not have what the demonstration loaded"))
    };
    Ok(Places {
        room: first("/v1/locations?limit=200", &|item| item["kind"] == "room")?,
        shelf: first("/v1/locations?limit=200", &|item| item["kind"] == "shelf")?,
        station: first("/v1/stations?limit=200", &|_| true)?,
    })
}
