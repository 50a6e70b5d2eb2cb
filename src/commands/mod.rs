//! The command line: one file a subcommand, which reads arguments, calls the library and prints.

use std::process::ExitCode;

/// Runs the command line of this process.
pub fn main() -> ExitCode {
    ExitCode::SUCCESS
}
