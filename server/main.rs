//! The command line: reads the arguments and runs one command. Everything else is the library.

use std::process::ExitCode;

use clap::Parser;
use gaugewright::commands;
use gaugewright::settings::Cli;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    match runtime {
        Ok(runtime) => runtime.block_on(commands::run(cli.command)),
        Err(error) => {
            eprintln!("gaugewright: cannot start: {error}");
            ExitCode::from(70)
        }
    }
}
