//! The command that computes one number as the product does: JSON in, result and working out.
//! What can be computed, and the refusals, are in `workings`.

use std::fmt::Write as _;
use std::io::{Read, Write};
use std::process::ExitCode;

use serde_json::Value;

use crate::workings;

/// What was asked of the command.
#[derive(Debug, Clone, clap::Args)]
#[group(required = true, multiple = false)]
pub struct Asked {
    /// The computation, such as `tightening-plan`; its input is read as JSON from standard input.
    pub name: Option<String>,
    /// List every computation with what it gives.
    #[arg(long)]
    pub list: bool,
    /// Print the JSON schema of a computation's input and output, with a sample.
    #[arg(long, value_name = "NAME")]
    pub schema: Option<String>,
}

/// Wrong input: the code wrong arguments have too.
const WRONG: u8 = 2;

/// Does what was asked and says how it ended.
pub fn run(asked: &Asked) -> ExitCode {
    match answer(asked) {
        Ok(text) => {
            // A reader that has gone away (`| head`) wants no more; that is no failure.
            let _ = writeln!(std::io::stdout().lock(), "{}", text.trim_end());
            ExitCode::SUCCESS
        }
        Err(words) => {
            eprintln!("gaugewright: {words}");
            ExitCode::from(WRONG)
        }
    }
}

fn answer(asked: &Asked) -> Result<String, String> {
    if asked.list {
        let width = workings::all().iter().map(|one| one.name.len()).max();
        let width = width.unwrap_or(0);
        return Ok(workings::all().iter().fold(String::new(), |mut text, one| {
            let _ = writeln!(text, "{:width$}  {}", one.name, one.purpose);
            text
        }));
    }
    if let Some(name) = &asked.schema {
        return pretty(&found(name)?.schema());
    }
    let computation = found(asked.name.as_deref().unwrap_or_default())?;
    let mut text = String::new();
    std::io::stdin()
        .read_to_string(&mut text)
        .map_err(|error| format!("standard input cannot be read: {error}"))?;
    let answer = computation
        .run_text(&text)
        .map_err(|refused| format!("{}: {refused}", computation.name))?;
    serde_json::to_string_pretty(&answer).map_err(|error| error.to_string())
}

fn found(name: &str) -> Result<&'static workings::Computation, String> {
    workings::find(name).ok_or_else(|| {
        let like = workings::nearest(name)
            .map(|name| format!(" Did you mean {name}?"))
            .unwrap_or_default();
        format!("there is no computation \u{201c}{name}\u{201d}.{like} All of them: gaugewright compute --list")
    })
}

fn pretty(value: &Value) -> Result<String, String> {
    serde_json::to_string_pretty(value).map_err(|error| error.to_string())
}
