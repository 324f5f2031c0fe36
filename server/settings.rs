//! Every setting of the program: its name, its default, what it means. Commands and environment
//! variables are the same list; what the plant's procedures chose is in the register instead.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::pages::check::Network;

/// A plant's register of armoured level gauges.
#[derive(Debug, Parser)]
#[command(name = "gaugewright", version, about, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve a plant's register to browsers; an empty folder begins an empty plant.
    Serve(Serve),
    /// Make the invented demo plant if the folder has none, and serve it.
    Demo(Demo),
    /// Copy the register, while it is in use, into one new file.
    Backup {
        /// The plant's folder.
        #[command(flatten)]
        folder: Folder,
        /// The file to write; it must not exist yet.
        file: PathBuf,
    },
    /// Ask the server on this machine whether it can answer: exit code 0 if so, 1 if not.
    Health {
        /// The address it listens on.
        #[arg(
            long,
            value_name = "ADDR",
            env = "GAUGEWRIGHT_LISTEN",
            default_value = "127.0.0.1:8470"
        )]
        listen: SocketAddr,
    },
    /// Compute one number as the product does: JSON on standard input, result and working as JSON.
    Compute(crate::compute::Asked),
    /// Check the audit chain, every sealed record, the certificates, the stock and the due dates.
    Verify {
        /// The plant's folder.
        #[command(flatten)]
        folder: Folder,
        /// Checks only this certificate: a PDF as it was handed out, or the record inside one.
        #[arg(long, value_name = "FILE")]
        certificate: Option<PathBuf>,
        /// Checks only the certificate of this code.
        #[arg(long, value_name = "CODE", conflicts_with = "certificate")]
        code: Option<String>,
    },
    /// The key certificates are signed with.
    Key {
        /// What to do with it.
        #[command(subcommand)]
        action: KeyAction,
    },
}

/// What can be done with the plant's signing key.
#[derive(Debug, Subcommand)]
pub enum KeyAction {
    /// Make a new key that signs from now on; old ones stay good for checking. The server has to be
    /// stopped; the administrator's page does the same while it runs.
    Rotate {
        /// The plant's folder.
        #[command(flatten)]
        folder: Folder,
        /// Why; it stands in the list of keys.
        #[arg(long, value_name = "WORDS")]
        reason: String,
    },
    /// List every key there was, with its public half as PEM.
    List {
        /// The plant's folder.
        #[command(flatten)]
        folder: Folder,
    },
}

/// Where the register is kept.
#[derive(Debug, Clone, Args)]
pub struct Folder {
    /// The folder that holds the register. Not on a network share.
    #[arg(
        long = "data",
        value_name = "DIR",
        env = "GAUGEWRIGHT_DATA",
        default_value = ".data"
    )]
    pub data: PathBuf,
}

/// How the register is served.
#[derive(Debug, Clone, Args)]
pub struct Serve {
    /// The plant's folder.
    #[command(flatten)]
    pub folder: Folder,
    /// The address and port to listen on.
    #[arg(
        long,
        value_name = "ADDR",
        env = "GAUGEWRIGHT_LISTEN",
        default_value = "127.0.0.1:8470"
    )]
    pub listen: SocketAddr,
    /// The address people reach the register under, such as <https://gauges.example.org>. With
    /// https, cookies are sent over TLS only.
    #[arg(long, value_name = "URL", env = "GAUGEWRIGHT_PUBLIC_ADDRESS", value_parser = origin)]
    pub public_address: Option<String>,
    /// An address or a network such as 172.16.0.0/12 whose X-Forwarded-For is believed, beside this
    /// machine's own; several with commas between.
    #[arg(
        long,
        value_name = "ADDR",
        env = "GAUGEWRIGHT_TRUSTED_PROXY",
        value_delimiter = ','
    )]
    pub trusted_proxy: Vec<Network>,
    /// How the log is written.
    #[arg(long, value_name = "FORM", env = "GAUGEWRIGHT_LOG_FORM", default_value = "text", value_parser = ["text", "json"])]
    pub log_form: String,
    /// What is logged, such as `info` or `gaugewright=debug`.
    #[arg(
        long,
        value_name = "FILTER",
        env = "GAUGEWRIGHT_LOG",
        default_value = "info"
    )]
    pub log: String,
}

/// Reads the address people use as an origin: scheme, host, perhaps a port, and no path.
///
/// # Errors
/// Says what is wanted.
pub fn origin(text: &str) -> Result<String, String> {
    let text = text.trim().trim_end_matches('/').to_lowercase();
    let host = text
        .strip_prefix("https://")
        .or_else(|| text.strip_prefix("http://"))
        .ok_or("write it with https:// or http:// before the name")?;
    if host.is_empty() || host.contains(['/', '?', '#', '@', '\\', ',']) || !host.is_ascii() {
        return Err(
            "write scheme, name and perhaps a port only, such as https://gauges.example.org"
                .to_owned(),
        );
    }
    if host.contains(|c: char| c.is_whitespace() || c.is_control()) {
        return Err("an address has no spaces".to_owned());
    }
    Ok(text)
}

/// The demo plant.
#[derive(Debug, Clone, Args)]
pub struct Demo {
    /// How it is served.
    #[command(flatten)]
    pub serve: Serve,
    /// How many gauges the invented plant has.
    #[arg(long, value_name = "N", default_value_t = 143)]
    pub gauges: u32,
    /// How many kits it has: those of the invented plant, and more like them.
    #[arg(long, value_name = "N", default_value_t = 9)]
    pub kits: u32,
    /// How many more lines the stock ledger has, to measure speed with.
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub stock_lines: u32,
    /// Make the plant and stop, without serving it.
    #[arg(long)]
    pub only_make: bool,
}

#[cfg(test)]
mod tests {
    use super::origin;

    #[test]
    fn the_public_address_is_an_origin_whatever_slash_was_typed_after_it() {
        for typed in ["https://gauges.example.org/", " HTTPS://Gauges.Example.org"] {
            assert_eq!(
                origin(typed).as_deref(),
                Ok("https://gauges.example.org"),
                "{typed}"
            );
        }
        assert!(origin("http://127.0.0.1:8470").is_ok());
        for wrong in [
            "gauges.example.org",
            "https://",
            "https://gauges.example.org/register",
            "https://me@gauges.example.org",
            "ftp://gauges.example.org",
        ] {
            assert!(origin(wrong).is_err(), "{wrong}");
        }
    }
}
