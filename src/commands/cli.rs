//! The arguments as written, with their help. No defaults are worked out here beyond clap's own.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use super::Outcome;
use super::failure::Failure;
use crate::written::DateOrder;

/// From weekly photos of sprigged greens to percent cover, a curve and the date of full cover
#[derive(Debug, Parser)]
#[command(
    version,
    propagate_version = true,
    after_help = "Begin with:\n  sprigcast new my-course        a season folder to fill in\n  sprigcast run my-course        measure, forecast, report\n\nExit codes: 0 done, 1 could not run, 2 bad command line, 3 done but something needs a person."
)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// The main job: measure new photos, forecast every green, write the report and print the table
    #[command(
        after_help = "Examples:\n  sprigcast run pennywhistle-bend\n  sprigcast run pennywhistle-bend --pdf"
    )]
    Run(RunArgs),
    /// Make a commented season folder to fill in
    #[command(after_help = "Example:\n  sprigcast new pennywhistle-bend")]
    New(NewArgs),
    /// Read everything, measure nothing: what is wrong, which photos belong where, which visits are due
    #[command(after_help = "Example:\n  sprigcast check pennywhistle-bend")]
    Check(CheckArgs),
    /// Measure the photos that are new or whose settings changed
    #[command(after_help = "Example:\n  sprigcast measure pennywhistle-bend --masks masks")]
    Measure(MeasureArgs),
    /// Fit the colours that count as green to the season's photos, and to places you marked
    #[command(
        after_help = "Examples:\n  sprigcast tune pennywhistle-bend\n  sprigcast tune pennywhistle-bend --by-eye\n  sprigcast tune pennywhistle-bend --marks marks.csv\n\nAnswers to an audit can be marks too, since both are places judged by eye. Such an audit then no longer checks or\ncorrects cover: the colours were fitted to it. Draw new points for that.\n\nmarks.csv has a line for each place, in pixels from the upper left corner of the upright photo:\n  photo,x,y,green\n  G07/2027-06-14.jpg,1210,864,yes\n  G07/2027-06-14.jpg,400,1300,no\nwith the columns width and height for rectangles; a JSON list of such objects works too."
    )]
    Tune(TuneArgs),
    /// Draw random points for a person to judge, and say from the answers how far to trust the cover
    #[command(
        after_help = "Examples:\n  sprigcast audit pennywhistle-bend\n  sprigcast audit pennywhistle-bend --answers audit-3f2a9c01-answers.csv"
    )]
    Audit(super::audit::AuditArgs),
    /// Fit curves and project the date of full cover
    #[command(
        after_help = "Examples:\n  sprigcast forecast pennywhistle-bend\n  sprigcast forecast pennywhistle-bend --cover cover.csv --as-of 2027-06-20 --format json\n  sprigcast forecast pennywhistle-bend --backtest --out backtest"
    )]
    Forecast(ForecastArgs),
    /// Map each green in cells, and list the thin areas to carry sprigs to
    #[command(
        after_help = "Examples:\n  sprigcast map pennywhistle-bend\n  sprigcast map pennywhistle-bend --cell 3 --as-of 2027-07-05 --format json"
    )]
    Map(MapArgs),
    /// Tell which sprig rate, planting date or treatment made a difference
    #[command(
        after_help = "Examples:\n  sprigcast compare pennywhistle-bend --by sprig_rate\n  sprigcast compare pennywhistle-bend --by sprig_rate,topdressing --on 2027-06-30 --out comparison\n  sprigcast compare pennywhistle-bend --by topdressing --control monthly --adjust log:nitrogen"
    )]
    Compare(CompareArgs),
    /// Write the owner's report from what the ledger holds; nothing is measured
    #[command(
        after_help = "Examples:\n  sprigcast report pennywhistle-bend\n  sprigcast report pennywhistle-bend --pdf"
    )]
    Report(ReportArgs),
    /// Write the sheet for the next photo walk and the slates to print
    #[command(after_help = "Example:\n  sprigcast walk pennywhistle-bend --pdf")]
    Walk(WalkArgs),
    /// Write what the ledger holds as CSV, JSON, GeoJSON or Parquet
    #[command(
        after_help = "Examples:\n  sprigcast export pennywhistle-bend --what photos\n  sprigcast export pennywhistle-bend --what photos --format geojson --out photos.geojson"
    )]
    Export(ExportArgs),
    /// Print a completion script for a shell
    #[command(
        after_help = "Example:\n  sprigcast completions bash > ~/.local/share/bash-completion/completions/sprigcast"
    )]
    Completions(CompletionsArgs),
    /// Write manual pages into a folder
    #[command(after_help = "Example:\n  sprigcast manual ~/.local/share/man/man1")]
    Manual(ManualArgs),
}

#[derive(Debug, Args)]
pub(super) struct SeasonArg {
    /// The season folder, which holds course.toml
    #[arg(default_value = ".", value_name = "SEASON")]
    pub(super) folder: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct PhotoArgs {
    /// Refuse pictures of more than this many million pixels
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..))]
    pub(super) max_megapixels: u32,
    /// Take the file's modification time where a photo and its name tell no date
    #[arg(long)]
    pub(super) use_file_time: bool,
    /// Photos measured at the same time; one per core if not given
    #[arg(long, value_name = "N", value_parser = workers)]
    pub(super) workers: Option<std::num::NonZeroUsize>,
}

/// More threads than any computer has cores for only take memory.
const MOST_WORKERS: usize = 512;

/// Photos measured at the same time.
fn workers(text: &str) -> Result<std::num::NonZeroUsize, String> {
    match text.parse::<std::num::NonZeroUsize>() {
        Ok(workers) if workers.get() <= MOST_WORKERS => Ok(workers),
        _ => Err(format!("write a number from 1 to {MOST_WORKERS}")),
    }
}

#[derive(Debug, Args)]
pub(super) struct RunArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    #[command(flatten)]
    pub(super) photos: PhotoArgs,
    /// Use only what was known on this date
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) as_of: Option<Date>,
    /// Also write one or two pages for the owner as PDF, on Letter or A4 paper by the course's units
    #[arg(long)]
    pub(super) pdf: bool,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
}

#[derive(Debug, Args)]
pub(super) struct NewArgs {
    /// The folder to make; it must not exist or be empty
    #[arg(value_name = "DIR")]
    pub(super) folder: PathBuf,
    /// Name of the course; the folder's name if not given
    #[arg(long, value_name = "NAME")]
    pub(super) name: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct CheckArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    #[command(flatten)]
    pub(super) photos: PhotoArgs,
    /// Name photos that need nothing too: slates, copies, what is left out
    #[arg(long)]
    pub(super) every_photo: bool,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
}

#[derive(Debug, Args)]
pub(super) struct MeasureArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    #[command(flatten)]
    pub(super) photos: PhotoArgs,
    /// Also write one black and white PNG per measured photo into this folder, which must not lie in the
    /// photo folder: 255 is green
    #[arg(long, value_name = "DIR")]
    pub(super) masks: Option<PathBuf>,
    /// Also write one large picture per measured photo into out/overlays: as taken beside what counted as green
    #[arg(long)]
    pub(super) overlays: bool,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
}

#[derive(Debug, Args)]
pub(super) struct TuneArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    #[command(flatten)]
    pub(super) photos: PhotoArgs,
    /// Write a page on which you mark places in some photos as turf or not, offline; fit nothing yet
    #[arg(long, conflicts_with_all = ["marks", "trial"])]
    pub(super) by_eye: bool,
    /// Fit to places that you have marked: what the page of --by-eye saves, answers to an audit, or a CSV or JSON of your
    /// own; may be given several times. An audit that was used is no independent check any more
    #[arg(long, value_name = "FILE")]
    pub(super) marks: Vec<PathBuf>,
    /// Go on although measured photos are no longer in the folder, whose visits then drop out of the season
    #[arg(long)]
    pub(super) without_missing: bool,
    /// Only show what would be fitted; the rule of the season stays as it is
    #[arg(long)]
    pub(super) trial: bool,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
}

#[derive(Debug, Args)]
pub(super) struct ForecastArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// Take cover from this CSV file (green,date,cover_percent) instead of the ledger
    #[arg(long, value_name = "FILE")]
    pub(super) cover: Option<PathBuf>,
    /// Use only what was known on this date; the last visit if not given
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) as_of: Option<Date>,
    /// Tell the latest day of planting that has this chance of full cover this season; 80 percent if not given
    #[arg(long, value_name = "PERCENT", num_args = 0..=1, require_equals = true, default_missing_value = "80", value_parser = clap::value_parser!(u8).range(1..=99))]
    pub(super) plant_by: Option<u8>,
    /// Tell how the forecasts of past visits came true: errors and intervals by weeks ahead
    #[arg(long, conflicts_with = "plant_by")]
    pub(super) backtest: bool,
    /// Also write the tables and the picture of a backtest into this folder
    #[arg(long, value_name = "DIR", requires = "backtest")]
    pub(super) out: Option<PathBuf>,
    /// Print people's text, one JSON document or, of a backtest, its table as CSV
    #[arg(long, value_enum, default_value_t = ForecastFormat::Text)]
    pub(super) format: ForecastFormat,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ForecastFormat {
    /// For people
    Text,
    /// One JSON document
    Json,
    /// Errors and intervals by weeks, as comma-separated values; with --backtest
    Csv,
}

#[derive(Debug, Args)]
pub(super) struct MapArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// Side of a cell in metres, 0.5 to 20; 2 where not said, and 1 where a green was seen from above
    #[arg(long, value_name = "METRES", value_parser = cell)]
    pub(super) cell: Option<f64>,
    /// Use only photos up to this date
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) as_of: Option<Date>,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
}

/// A day as people write it: 2027-06-20, or in any order that cannot be another day.
pub(super) fn day(text: &str) -> Result<Date, String> {
    let order = DateOrder::of([text]);
    order
        .read(text.trim())
        .map_err(|advice| format!("write {advice}"))
}

/// A side that leaves some cells on a green, and not a million.
fn cell(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(metres) if (0.5..=20.0).contains(&metres) => Ok(metres),
        _ => Err("write metres from 0.5 to 20, such as 2".to_owned()),
    }
}

#[derive(Debug, Args)]
pub(super) struct CompareArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// What to compare by: sprig_rate, planted, species, a factor of the course file, or log:WHAT for an
    /// amount of log.csv; several with commas
    #[arg(long, value_name = "FACTOR", required = true, value_delimiter = ',')]
    pub(super) by: Vec<String>,
    /// Take cover from this CSV file (green,date,cover_percent) instead of the ledger
    #[arg(long, value_name = "FILE")]
    pub(super) cover: Option<PathBuf>,
    /// Also compare cover on this date
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) on: Option<Date>,
    /// What decides whether there is a difference; choose it before you look at the numbers
    #[arg(long, value_enum, default_value_t = JudgeBy::DaysToFull)]
    pub(super) judge_by: JudgeBy,
    /// Compare every other level of the first factor with this one
    #[arg(long, value_name = "LEVEL")]
    pub(super) control: Option<String>,
    /// Allow for an amount of log.csv, such as log:nitrogen; several with commas
    #[arg(long, value_name = "LOG:WHAT", value_delimiter = ',')]
    pub(super) adjust: Vec<String>,
    /// What the letters after means rest on
    #[arg(long, value_enum, default_value_t = LettersBy::Tukey)]
    pub(super) letters: LettersBy,
    /// Also write tables and pictures into this folder
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Print people's text, one JSON document or the means as CSV
    #[arg(long, value_enum, default_value_t = CompareFormat::Text)]
    pub(super) format: CompareFormat,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum JudgeBy {
    /// Days from planting to full cover
    DaysToFull,
    /// Days from planting to half cover
    DaysToHalf,
    /// Points of cover gained in the fastest week
    PointsPerWeek,
    /// Percent cover on the date of --on
    Cover,
    /// Mean cover from planting on
    MeanCover,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum LettersBy {
    /// Tukey's honest significant difference
    Tukey,
    /// Fisher's least significant difference, where F is significant
    Lsd,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum CompareFormat {
    /// For people
    Text,
    /// One JSON document
    Json,
    /// Means with letters, as comma-separated values
    Csv,
}

#[derive(Debug, Args)]
pub(super) struct ReportArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// Use only what was known on this date; the last visit if not given
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) as_of: Option<Date>,
    /// Also write one or two pages for the owner as PDF, on Letter or A4 paper by the course's units
    #[arg(long)]
    pub(super) pdf: bool,
}

#[derive(Debug, Args)]
pub(super) struct WalkArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// The day of the walk; a week after the last visit if not given
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) date: Option<Date>,
    /// Also write the sheet and the slates as PDF
    #[arg(long)]
    pub(super) pdf: bool,
}

#[derive(Debug, Args)]
pub(super) struct ExportArgs {
    #[command(flatten)]
    pub(super) season: SeasonArg,
    /// What to write
    #[arg(long, value_enum, default_value_t = What::Cover)]
    pub(super) what: What,
    /// How to write it
    #[arg(long, value_enum, default_value_t = TableFormat::Csv)]
    pub(super) format: TableFormat,
    /// Semicolons between cells and commas as the decimal mark, for CSV
    #[arg(long)]
    pub(super) decimal_comma: bool,
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(super) struct ManualArgs {
    /// The folder to write the pages into
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people
    Text,
    /// One JSON document
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum TableFormat {
    /// Comma-separated values
    Csv,
    /// One JSON document
    Json,
    /// GeoJSON (RFC 7946), for what has a place
    Geojson,
    /// Parquet, for statistics programs
    Parquet,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum What {
    /// Cover per green and date
    Cover,
    /// Every photo with its outcome
    Photos,
    /// The last forecast of every green; as GeoJSON on its outline
    Forecast,
    /// Cover in cells of the greens at their last visit
    Cells,
    /// The work list of thin areas
    ThinAreas,
    /// What changed at the stations up to their last visit
    Changes,
}

pub(super) fn print_completions(args: &CompletionsArgs) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "sprigcast", &mut script);
    std::io::stdout().write_all(&script)?;
    Ok(Outcome::Done)
}

pub(super) fn write_manual(args: &ManualArgs) -> Result<Outcome, Failure> {
    std::fs::create_dir_all(&args.folder).map_err(|error| Failure::write(&args.folder, error))?;
    clap_mangen::generate_to(Cli::command(), &args.folder)
        .map_err(|error| Failure::write(&args.folder, error))?;
    Ok(Outcome::Done)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_limit_of_no_pixels_is_refused() {
        let refused =
            |limit| Cli::try_parse_from(["sprigcast", "run", "--max-megapixels", limit]).is_err();
        assert!(refused("0"));
        assert!(!refused("1"));
    }

    #[test]
    fn every_command_and_option_has_help_without_a_full_stop_and_every_command_an_example() {
        let cli = Cli::command();
        for command in cli.get_subcommands() {
            let name = command.get_name();
            let about = command
                .get_about()
                .map(ToString::to_string)
                .unwrap_or_default();
            assert!(
                !about.is_empty() && !about.ends_with('.'),
                "{name}: {about}"
            );
            let after = command
                .get_after_help()
                .map(ToString::to_string)
                .unwrap_or_default();
            assert!(after.contains("Example"), "{name} shows no example");
            for argument in command.get_arguments() {
                let help = argument
                    .get_help()
                    .map(ToString::to_string)
                    .unwrap_or_default();
                let starts_well = help.chars().next().is_some_and(|c| !c.is_lowercase());
                assert!(
                    starts_well && !help.ends_with('.'),
                    "{name} {argument}: {help}"
                );
            }
        }
    }
}
