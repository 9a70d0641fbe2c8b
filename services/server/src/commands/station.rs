//! `lotwarden station`

use std::io::{self, Read};
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context as _;
use jiff::tz::TimeZone;
use lotwarden_codes::{Context, check_readings};
use lotwarden_documents::station_test_page;
use lotwarden_domain::{Clock, SystemClock};

use super::labels::Paper;
use super::print;

/// Writes a station's test page, and checks what the station made of it.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden station test-page --output test-page.pdf
  lotwarden station check < readings.txt

Print the page, then scan its three symbols at the station into `check`, in
any order, and end the input with Ctrl+D. It ends with 0 when every symbol
came through, with 1 when not.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Write the test page as PDF
    TestPage {
        /// The file to write
        #[arg(long, short, default_value = "test-page.pdf")]
        output: PathBuf,
        /// The paper
        #[arg(long, value_enum, default_value = "a4")]
        paper: Paper,
    },
    /// Check the readings on standard input, one a line
    Check,
}

/// Writes or checks.
pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    let context = Context::new(SystemClock.now().to_zoned(TimeZone::system()).date());
    match args.what {
        What::TestPage { output, paper } => {
            let page = station_test_page(&context, paper.into())?;
            std::fs::write(&output, page)
                .with_context(|| format!("{} cannot be written", output.display()))?;
            Ok(ExitCode::SUCCESS)
        }
        What::Check => {
            let mut text = String::new();
            io::stdin().lock().read_to_string(&mut text)?;
            let readings = text.lines().filter(|line| !line.is_empty());
            let mut passes = true;
            for (symbol, check) in check_readings(readings, &context) {
                passes &= check.outcome.passes();
                let (symbol, outcome) = (symbol.as_str(), check.outcome);
                print(&format!(
                    "{symbol:<15} {:<22} {}\n",
                    outcome.as_str(),
                    outcome.advice()
                ))?;
            }
            print(if passes {
                "The station passes.\n"
            } else {
                "The station does not pass.\n"
            })?;
            Ok(if passes {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            })
        }
    }
}
