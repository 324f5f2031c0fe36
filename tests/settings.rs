//! The settings as the handbook lists them: README.md against the program's own list.
//! What the settings do is tested with the parts that use them.

use clap::CommandFactory;
use gaugewright::settings::Cli;

fn readme() -> &'static str {
    include_str!("../README.md")
}

/// The line of the handbook's table that begins with this text.
fn line_of(start: &str) -> &'static str {
    readme()
        .lines()
        .find(|line| {
            line.strip_prefix(start)
                .is_some_and(|rest| rest.starts_with([' ', '`']))
        })
        .unwrap_or_else(|| panic!("README.md has no line for {start}"))
}

#[test]
fn every_command_is_in_the_handbook() {
    for command in Cli::command().get_subcommands() {
        let line = line_of(&format!("| `gaugewright {}", command.get_name()));
        for file in command.get_positionals() {
            let name = file.get_id().as_str().to_uppercase();
            assert!(line.contains(&name), "{line} should name {name}");
        }
    }
}

#[test]
fn every_option_is_in_the_handbook_with_its_variable_default_and_commands() {
    for command in Cli::command().get_subcommands() {
        for option in command.get_opts() {
            let name = option.get_long().unwrap();
            let line = line_of(&format!("| `--{name}"));
            let mut wanted = vec![command.get_name().to_owned()];
            wanted.extend(option.get_env().map(|v| v.to_string_lossy().into_owned()));
            if option.get_action().takes_values() {
                let usual = option.get_default_values().iter();
                wanted.extend(usual.map(|v| v.to_string_lossy().into_owned()));
            }
            for words in wanted {
                assert!(line.contains(&words), "{line} should say {words}");
            }
        }
    }
}
