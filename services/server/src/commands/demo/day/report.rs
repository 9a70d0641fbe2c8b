//! What the person at the terminal reads.

use std::process::ExitCode;

use serde_json::json;

use crate::commands::print;

/// One step of the day.
pub struct Step<'a> {
    /// The time of day.
    pub at: &'a str,
    /// Who acts, by role.
    pub who: &'a str,
    /// What is done.
    pub what: &'a str,
    /// What the day expects.
    pub expected: &'a str,
    /// What came of it.
    pub came: &'a str,
    /// What the service said beside it.
    pub says: &'a [String],
}

/// Prints steps and counts them.
pub struct Report {
    json: bool,
    steps: usize,
    unexpected: usize,
}

impl Report {
    /// For people, or one JSON object a line.
    pub fn new(json: bool) -> Self {
        Self {
            json,
            steps: 0,
            unexpected: 0,
        }
    }

    /// Prints the first line.
    pub fn title(&self, text: &str) -> anyhow::Result<()> {
        if !self.json {
            print(&format!("{text}\n"))?;
        }
        Ok(())
    }

    /// Prints what the next steps have in common.
    pub fn heading(&self, text: &str) -> anyhow::Result<()> {
        if !self.json {
            print(&format!("\n{text}\n"))?;
        }
        Ok(())
    }

    /// Prints a line beside the last step, for people.
    pub fn beside(&self, text: &str) -> anyhow::Result<()> {
        if !self.json {
            print(&format!("          {text}\n"))?;
        }
        Ok(())
    }

    /// Prints one step and keeps whether it came out as expected.
    pub fn step(&mut self, step: &Step<'_>) -> anyhow::Result<()> {
        let fits = step.came == step.expected;
        self.steps += 1;
        self.unexpected += usize::from(!fits);
        if self.json {
            let line = json!({
                "at": step.at, "role": step.who, "what": step.what, "verdict": step.came,
                "expected": step.expected, "as_expected": fits, "says": step.says,
            });
            print(&format!("{line}\n"))?;
            return Ok(());
        }
        let mut text = format!("{}  {:<13} {}\n", step.at, step.who, step.what);
        text.push_str(&format!("       -> {}\n", step.came));
        if !fits {
            text.push_str(&format!("       !! expected: {}\n", step.expected));
        }
        for line in step.says {
            text.push_str(&format!("          {line}\n"));
        }
        print(&text)?;
        Ok(())
    }

    /// Prints the last line; 1 when anything came out otherwise than expected.
    pub fn sum_up(&self) -> anyhow::Result<ExitCode> {
        let (steps, unexpected) = (self.steps, self.unexpected);
        if self.json {
            let line = json!({"steps": steps, "unexpected": unexpected});
            print(&format!("{line}\n"))?;
        } else if unexpected == 0 {
            print(&format!("\n{steps} steps, all as expected\n"))?;
        } else {
            print(&format!(
                "\n{steps} steps, {unexpected} not as expected (marked !!)\n"
            ))?;
        }
        Ok(if unexpected == 0 {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        })
    }
}
