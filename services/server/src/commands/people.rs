//! `lotwarden people`

use std::io::{self, BufRead, IsTerminal};
use std::process::ExitCode;

use anyhow::{Context, bail};
use jiff::Timestamp;
use lotwarden_api::access::passwords::{self, Account};
use lotwarden_domain::access::{Role, act};
use lotwarden_store::access::{self as store, AddPerson};
use lotwarden_store::moment::instant_text;
use lotwarden_store::{After, RecordError, Rendered, Request};
use serde_json::json;

use super::opened::Opened;
use super::{print, say};
use crate::settings::Settings;

/// Adds people and lists them; the first administrator is made here.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden people add --login a.lindqvist --name \"Aino Lindqvist\" --role administrator
  lotwarden people add --login inspector1 --name \"I. Moreau\" --role inspector --ends-at 2027-01-31T17:00:00Z < password.txt
  lotwarden people list --json

`add` makes a random password and prints it once, or takes the first line of
standard input where that is not a terminal. It is at least 15 characters.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
    /// Facility; needed where there are several
    #[arg(long, global = true)]
    facility: Option<String>,
}

#[derive(clap::Subcommand)]
enum What {
    /// Add a person
    Add {
        /// Name signed in with; never given to a second person
        #[arg(long)]
        login: String,
        /// Printed name
        #[arg(long)]
        name: String,
        /// What the person is here for; can be given several times
        #[arg(long = "role", required = true)]
        roles: Vec<Role>,
        /// When the account ends; an inspector's has to
        #[arg(long)]
        ends_at: Option<Timestamp>,
    },
    /// List people and their roles
    List {
        /// For programs
        #[arg(long)]
        json: bool,
    },
}

/// Adds or lists.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    match args.what {
        What::Add {
            login,
            name,
            roles,
            ends_at,
        } => {
            let account = Account {
                login: &login,
                name: &name,
                facility: &facility.name,
            };
            let (password, made) = password(&account)?;
            let password_hash = passwords::hash(&password)
                .map_err(|_| anyhow::anyhow!("the password cannot be hashed"))?;
            let operation = AddPerson {
                login: login.clone(),
                name,
                roles,
                password_hash,
                ends_at,
            };
            let grant = opened.grant::<act::AddPerson>(&facility)?;
            let rendered = |_: &store::Person, _| Rendered {
                status: 201,
                body: Vec::new(),
                etag: None,
            };
            let recorded = opened
                .recorder
                .record(&grant, Request::default(), operation, rendered);
            match opened.runtime.block_on(recorded) {
                Ok(_) => {}
                Err(RecordError::Refused(refusal)) => bail!("{login}: {refusal}"),
                Err(other) => return Err(other).context("nothing was recorded"),
            }
            say(&format!("added {login} at {}", facility.name));
            if made {
                say("the password is printed this once; hand it over in person");
                print(&format!("{password}\n"))?;
            }
        }
        What::List { json } => list(&opened, &facility, json)?,
    }
    Ok(ExitCode::SUCCESS)
}

fn list(
    opened: &Opened,
    facility: &lotwarden_store::facilities::Facility,
    json: bool,
) -> anyhow::Result<()> {
    let mut after = After {
        id: None,
        limit: 200,
    };
    loop {
        let page = opened.runtime.block_on(async {
            let mut reading = opened.recorder.database().reading(facility.id).await?;
            store::list(&mut reading, after).await
        })?;
        for person in page.items {
            let roles: Vec<&str> = person.roles.iter().map(|role| role.as_str()).collect();
            let ends = person.ends_at.map(instant_text);
            print(&if json {
                format!(
                    "{}\n",
                    json!({"id": person.id, "login": person.login, "name": person.name, "roles": roles, "ends_at": ends})
                )
            } else {
                let ends = ends.map(|at| format!("  until {at}")).unwrap_or_default();
                format!(
                    "{:<20} {:<28} {}{ends}\n",
                    person.login,
                    person.name,
                    roles.join(", ")
                )
            })?;
        }
        match page.next {
            None => return Ok(()),
            next => after.id = next,
        }
    }
}

/// The password given on standard input, or a random one.
fn password(account: &Account<'_>) -> anyhow::Result<(String, bool)> {
    let input = io::stdin();
    let mut line = String::new();
    if !input.is_terminal() {
        input
            .lock()
            .read_line(&mut line)
            .context("cannot read the password")?;
    }
    let given = line.trim_end_matches(['\r', '\n']);
    if given.is_empty() {
        return Ok((passwords::random(), true));
    }
    match passwords::fault(given, account) {
        None => Ok((given.to_owned(), false)),
        Some(fault) => bail!("the password {fault}"),
    }
}
