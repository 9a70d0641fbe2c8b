//! `lotwarden compute`

mod object;

use std::io::{self, BufWriter, Read, Write};
use std::process::ExitCode;

use lotwarden_domain::computations::{Computation, Fault, FaultCode, Faults};
use object::Object;
use serde_json::{Deserializer, json};

use super::say;

/// Computes from a JSON object on standard input; nothing is recorded.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden compute helium --help
  echo '{\"aware_on\": \"2026-01-16\"}' | lotwarden compute deadline

One JSON object in, one out, on one line; several objects one after the other
give a line each. Numbers may be given as numbers or as decimals in strings.
What is faulty is answered with {\"error\": {\"code\", \"field\", \"message\",
\"faults\": [{\"code\", \"field\", \"message\"}, ...]}}, where faults names every
faulty field and the rest is of the first, and exit status 1.")]
pub struct Args {
    #[command(subcommand)]
    computation: Which,
}

#[derive(Clone, Copy, clap::Subcommand)]
enum Which {
    /// Litres and minutes left in a helium cylinder
    #[command(after_help = help(Computation::Helium))]
    Helium,
    /// Amounts and concentrations of a mix, and of what was given of it
    #[command(after_help = help(Computation::Mix))]
    Mix,
    /// The day by which a report or an answer is due
    #[command(after_help = help(Computation::Deadline))]
    Deadline,
    /// How many effectiveness checks, and whether pieces are accounted for
    #[command(after_help = help(Computation::Effectiveness))]
    Effectiveness,
    /// Until when the record of a case is kept
    #[command(after_help = help(Computation::Retention))]
    Retention,
}

impl From<Which> for Computation {
    fn from(which: Which) -> Self {
        match which {
            Which::Helium => Self::Helium,
            Which::Mix => Self::Mix,
            Which::Deadline => Self::Deadline,
            Which::Effectiveness => Self::Effectiveness,
            Which::Retention => Self::Retention,
        }
    }
}

/// The fields of a computation, in and out, with an example.
const fn help(computation: Computation) -> &'static str {
    match computation {
        Computation::Helium => include_str!("compute/helium.txt"),
        Computation::Mix => include_str!("compute/mix.txt"),
        Computation::Deadline => include_str!("compute/deadline.txt"),
        Computation::Effectiveness => include_str!("compute/effectiveness.txt"),
        Computation::Retention => include_str!("compute/retention.txt"),
    }
}

/// Computes until the input ends.
pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    let output = BufWriter::new(io::stdout().lock());
    match compute_all(args.computation.into(), io::stdin().lock(), output) {
        // Whoever read the answers has enough of them.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(ExitCode::SUCCESS),
        other => Ok(other?),
    }
}

/// Answers each object with a line; failure where one of them was faulty.
fn compute_all(
    computation: Computation,
    input: impl Read,
    mut output: impl Write,
) -> io::Result<ExitCode> {
    let mut exit = ExitCode::SUCCESS;
    let mut objects = Deserializer::from_reader(input)
        .into_iter::<Object>()
        .peekable();
    if objects.peek().is_none() {
        let empty = not_json("standard input is empty; give a JSON object");
        exit = refuse(&mut output, &empty)?;
        output.write_all(b"\n")?;
    }
    for object in objects {
        match object {
            Ok(Object { twice, .. }) if !twice.is_empty() => {
                exit = refuse(&mut output, &given_twice(twice))?;
            }
            Ok(Object { value, .. }) => match computation.of(&value) {
                Ok(answer) => serde_json::to_writer(&mut output, &answer)?,
                Err(faults) => exit = refuse(&mut output, &faults)?,
            },
            Err(error) if error.is_io() => return Err(error.into()),
            Err(error) => exit = refuse(&mut output, &not_json(&format!("not JSON: {error}")))?,
        }
        output.write_all(b"\n")?;
    }
    output.flush()?;
    Ok(exit)
}

fn not_json(message: &str) -> Faults {
    Faults(vec![Fault {
        code: FaultCode::NotJson,
        field: String::new(),
        message: message.to_owned(),
    }])
}

fn given_twice(fields: Vec<String>) -> Faults {
    let fault = |field| Fault {
        code: FaultCode::Conflict,
        field,
        message: "is given twice; give it once".to_owned(),
    };
    Faults(fields.into_iter().map(fault).collect())
}

/// Writes what is faulty for programs, and says it for people.
fn refuse(output: impl Write, faults: &Faults) -> io::Result<ExitCode> {
    say(&faults.to_string());
    let first = faults.0.first();
    serde_json::to_writer(
        output,
        &json!({ "error": {
            "code": first.map(|fault| fault.code),
            "field": first.map(|fault| &fault.field),
            "message": faults.to_string(),
            "faults": faults.0,
        } }),
    )?;
    Ok(ExitCode::FAILURE)
}

#[cfg(test)]
mod tests;
