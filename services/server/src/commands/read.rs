//! `lotwarden read`

use std::borrow::Cow;
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::process::ExitCode;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use lotwarden_codes::Context;
use lotwarden_domain::{Clock, SystemClock};
use serde_json::{Value, json};

/// Reads labels from standard input, one a line, and prints one JSON object for each.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  echo '(01)09520123456788(10)ABC123' | lotwarden read
  echo '010952012345678810ABC123^21SN0001' | lotwarden read --date 2026-11-24
  echo '\"010952012345678810ABC123\\u001d21SN0001\"' | lotwarden read
  lotwarden read --associations off < readings.txt

A line is the characters that a scanner delivered, with ^ or the four
characters \\x1d for FNC1, or a JSON string when it begins with a quotation
mark. Nothing is recorded.")]
pub struct Args {
    /// Whether GS1's required and forbidden pairs of elements are checked
    #[arg(long, value_enum, default_value_t = Switch::On)]
    associations: Switch,
    /// The day of the reading, which settles two-digit years [default: today]
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Switch {
    On,
    Off,
}

/// Reads until the input ends.
pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    let today = || SystemClock.now().to_zoned(TimeZone::system()).date();
    let mut context = Context::new(args.date.unwrap_or_else(today));
    context.associations = args.associations == Switch::On;
    match read_all(io::stdin().lock(), io::stdout().lock(), &context) {
        // Whoever read the answers has enough of them.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(ExitCode::SUCCESS),
        other => Ok(other.map(|()| ExitCode::SUCCESS)?),
    }
}

fn read_all(input: impl io::Read, output: impl Write, context: &Context) -> io::Result<()> {
    let mut input = BufReader::new(input);
    let mut output = BufWriter::new(output);
    let mut line = Vec::new();
    while input.read_until(b'\n', &mut line)? > 0 {
        let characters = line.strip_suffix(b"\n").unwrap_or(&line);
        let characters = characters.strip_suffix(b"\r").unwrap_or(characters);
        write_answer(&mut output, characters, context)?;
        output.write_all(b"\n")?;
        line.clear();
        // A program that writes one line and waits for its answer gets it.
        if input.buffer().is_empty() {
            output.flush()?;
        }
    }
    output.flush()
}

fn write_answer(output: impl Write, line: &[u8], context: &Context) -> io::Result<()> {
    let text = match characters(line) {
        Ok(text) => text,
        Err(problem) => return Ok(serde_json::to_writer(output, &problem)?),
    };
    match lotwarden_codes::read(&text, context) {
        Ok(reading) => serde_json::to_writer(output, &reading)?,
        Err(unread) => serde_json::to_writer(output, &unread)?,
    }
    Ok(())
}

/// The characters of a label as the scanner delivered them.
fn characters(line: &[u8]) -> Result<Cow<'_, str>, Value> {
    let text = str::from_utf8(line).map_err(|error| {
        problem(
            "not_utf8",
            error.valid_up_to(),
            "The line is not UTF-8 text.",
        )
    })?;
    if !text.starts_with('"') {
        return Ok(with_separators(text));
    }
    serde_json::from_str(text).map(Cow::Owned).map_err(|error| {
        let at = error.column().saturating_sub(1);
        problem(
            "not_json",
            at,
            "The line begins with a quotation mark but is not a JSON string.",
        )
    })
}

/// Puts the separator in place of its spelling in four characters.
fn with_separators(text: &str) -> Cow<'_, str> {
    if text.contains("\\x1d") || text.contains("\\x1D") {
        Cow::Owned(text.replace("\\x1d", "\u{1d}").replace("\\x1D", "\u{1d}"))
    } else {
        Cow::Borrowed(text)
    }
}

fn problem(code: &str, at: usize, message: &str) -> Value {
    json!({ "error": { "code": code, "at": at, "message": message } })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answers(input: &[u8]) -> Vec<Value> {
        let context = Context::new(jiff::civil::date(2026, 11, 24));
        let mut output = Vec::new();
        read_all(input, &mut output, &context).unwrap();
        let lines = String::from_utf8(output).unwrap();
        lines
            .lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }

    #[test]
    fn every_line_has_one_answer() {
        let codes: Vec<_> = answers(b"\n\xff\n\"unfinished\n\"\\u001d\"\r\nlast")
            .iter()
            .map(|answer| answer["error"]["code"].as_str().unwrap().to_owned())
            .collect();
        assert_eq!(codes.len(), 5);
        assert_eq!(codes[1..3], ["not_utf8", "not_json"]);
    }

    // FNC1 ends a value of variable length (GS1 General Specifications 7.8); prefix 952 is GS1's example range.
    #[test]
    fn a_separator_may_be_spelled_in_three_ways() {
        let lines = b"010952012345678810ABC123^21SN0001\n\
            010952012345678810ABC123\\x1d21SN0001\n\
            \"010952012345678810ABC123\\u001d21SN0001\"\n";
        let answers = answers(lines);
        for answer in &answers {
            assert_eq!(answer["lot"], "ABC123", "{answer}");
            assert_eq!(answer["serial"], "SN0001", "{answer}");
        }
    }
}
