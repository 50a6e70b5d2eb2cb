//! The command line: one file a subcommand, which reads arguments, calls the library and prints.
//!
//! Results go to standard output, progress and warnings to standard error. Nothing but this room knows that
//! there is a terminal.

mod audit;
mod check;
mod cli;
mod compare;
mod export;
mod failure;
mod forecast;
mod map;
mod measure;
mod new;
mod report;
mod results;
mod run;
mod season;
mod terminal;
mod tune;
mod tune_marks;
mod walk;

use std::process::ExitCode;

use clap::Parser;

use cli::{Cli, Command};

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// All is done.
    Done,
    /// Done, but something needs a person: photos set aside, a green without an answer.
    NeedsAPerson,
}

/// Runs the command line of this process. Exit codes: 0 done, 1 could not run, 2 bad command line (most of it from the
/// argument parser), 3 done but something needs a person.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    let result = match &cli.command {
        Command::Run(args) => run::run(args),
        Command::New(args) => new::run(args),
        Command::Check(args) => check::run(args),
        Command::Measure(args) => measure::run(args),
        Command::Tune(args) => tune::run(args),
        Command::Audit(args) => audit::run(args),
        Command::Forecast(args) => forecast::run(args),
        Command::Map(args) => map::run(args),
        Command::Compare(args) => compare::run(args),
        Command::Report(args) => report::run(args),
        Command::Walk(args) => walk::run(args),
        Command::Export(args) => export::run(args),
        Command::Completions(args) => cli::print_completions(args),
        Command::Manual(args) => cli::write_manual(args),
    };
    match result {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::NeedsAPerson) => ExitCode::from(3),
        Err(failure) => {
            terminal::print_failure(&failure);
            failure.exit_code()
        }
    }
}
