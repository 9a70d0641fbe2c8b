//! `lotwarden labels`

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use jiff::tz::TimeZone;
use lotwarden_codes::Context;
use lotwarden_documents::{Drawing, Label, Symbol, png, sheet, svg};
use lotwarden_domain::{Clock, SystemClock};

/// Writes labels of mixes, cylinders and places as GS1 symbols with their text.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden labels --output shelf.svg --title 'Shelf 3' '(91)SHELF-3'
  lotwarden labels --output cylinder.png --symbol gs1-128 '(8003)09521234543213C-17'
  lotwarden labels --output sheet.pdf --paper letter '(01)09520123456788(10)ABC' '(01)09520123456788(10)ABD'

The name of the file decides the form: .svg and .png hold one label, .pdf a
sheet of any number. A label that would not be read back is not written.")]
pub struct Args {
    /// The elements of a label, identifiers in brackets
    #[arg(required = true, value_name = "ELEMENTS")]
    labels: Vec<String>,
    /// The heading of every label; not in the symbol
    #[arg(long, default_value = "")]
    title: String,
    /// The symbol
    #[arg(long, value_enum, default_value_t = Carrier::Gs1Datamatrix)]
    symbol: Carrier,
    /// The paper of a sheet
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    paper: Paper,
    /// The file to write
    #[arg(long, short)]
    output: PathBuf,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Carrier {
    Gs1Datamatrix,
    #[value(name = "gs1-128")]
    Gs1Code128,
}

/// The paper of a sheet.
#[derive(Clone, Copy, clap::ValueEnum)]
pub(super) enum Paper {
    A4,
    Letter,
}

impl From<Paper> for lotwarden_documents::Paper {
    fn from(paper: Paper) -> Self {
        match paper {
            Paper::A4 => Self::A4,
            Paper::Letter => Self::Letter,
        }
    }
}

/// Draws and writes.
pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    let context = Context::new(SystemClock.now().to_zoned(TimeZone::system()).date());
    let symbol = match args.symbol {
        Carrier::Gs1Datamatrix => Symbol::Gs1DataMatrix,
        Carrier::Gs1Code128 => Symbol::Gs1Code128,
    };
    let draw = |text: &String| -> anyhow::Result<Drawing> {
        let label = Label::of_text(&args.title, text, &context);
        let drawing = label.and_then(|label| label.draw(symbol));
        drawing.with_context(|| format!("{text} cannot be a label"))
    };
    let drawings = args
        .labels
        .iter()
        .map(draw)
        .collect::<Result<Vec<_>, _>>()?;
    let bytes = match (
        args.output.extension().and_then(|e| e.to_str()),
        drawings.as_slice(),
    ) {
        (Some("pdf"), all) => sheet(all, args.paper.into())?,
        (Some("svg"), [one]) => svg(one).into_bytes(),
        (Some("png"), [one]) => png(one)?,
        (Some("svg" | "png"), _) => {
            bail!("a .svg or .png file holds one label; write a .pdf for several")
        }
        _ => bail!("--output: the name must end in .svg, .png or .pdf"),
    };
    std::fs::write(&args.output, bytes)
        .with_context(|| format!("{} cannot be written", args.output.display()))?;
    Ok(ExitCode::SUCCESS)
}
