//! `axlewright serve`: the page on the bench.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use axlewright_store::is_book;
use clap::Args;
use fast_qr::qr::QRBuilder;

use super::Outcome;
use crate::desk::DeskError;
use crate::desk::bench::Bench;
use crate::tame::tamed;
use crate::web::{self, Options, Running, Say};
use crate::{Exit, Streams, desk, text};

/// Open the page for a phone on the bench
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright serve my-car
  axlewright serve my-car --lan
  axlewright serve my-car --lan --tls
  axlewright serve my-car --port 8080 --no-open

Only this machine is served unless --lan is given. With --lan, other devices on
the same network may join, each with a code that is good once, for ten minutes.
Without --tls, what goes to them is not encrypted: whoever can read along on that
network sees what the page shows, and can write as if from that device. With it,
their browsers ask once about a certificate that nobody vouches for: compare its
fingerprint with the one shown here, and say yes. Ctrl-C ends it.")]
pub struct Serve {
    /// The car: its book, its folder or its car file
    #[arg(value_name = "CAR")]
    car: PathBuf,
    /// Who writes where a device names nobody; else AXLEWRIGHT_BY, else the name of the login
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    #[command(flatten)]
    how: How,
}

/// How a page is served.
#[derive(Debug, Args)]
pub(super) struct How {
    /// Let other devices on the local network pair and join
    #[arg(long)]
    lan: bool,
    /// Encrypt what goes to other devices, with a certificate made for this start
    #[arg(long, requires = "lan")]
    tls: bool,
    /// The port to listen on; 0 takes any free one
    #[arg(long, value_name = "PORT", default_value_t = 4630)]
    port: u16,
    /// Do not open the page in the browser
    #[arg(long)]
    no_open: bool,
}

impl Serve {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let by = writer(self.by.as_deref());
        let bench = open(&self.car, &by)?;
        if bench.is_book() {
            super::book::warn(streams, &bench)?;
            if let Some(said) = desk::book::last_backup_in_words(&self.car) {
                text::paragraph(streams.err, "", &said)?;
            }
        }
        self.how.serve(bench, by, streams)
    }
}

/// A book is opened to write in, which one program at a time may; a car file, or a book that cannot
/// be written to, to look at.
fn open(car: &Path, by: &str) -> Result<Bench, DeskError> {
    if is_book(car) { Bench::own_or_look_at(car, by) } else { Bench::open(car) }
}

/// Whose name stands under entries where a device names nobody.
pub(super) fn writer(said: Option<&str>) -> String {
    desk::clock::who(said).unwrap_or_else(|| "nobody named".to_owned())
}

impl How {
    /// Serves until somebody asks the program to end.
    pub(super) fn serve(&self, bench: Bench, by: String, streams: &mut Streams<'_>) -> Outcome {
        let options = Options { port: self.port, lan: self.lan, tls: self.tls, by };
        // Whatever is said later comes from other threads, when nobody else writes any more.
        let say = Say::new(|line| {
            let _ = writeln!(io::stderr(), "{}", tamed(line));
        });
        let running = match web::start(bench, options, say) {
            Ok(running) => running,
            Err(why) => {
                super::complain(streams.err, &why.to_string(), Some(&why.hint()))?;
                return Ok(Exit::Disk);
            }
        };
        tell(streams.out, &running)?;
        streams.out.flush()?;
        if streams.desktop && !self.no_open {
            desk::open_on_desktop(running.url().as_ref());
        }
        running.wait();
        Ok(Exit::Fine)
    }
}

fn tell(out: &mut dyn Write, running: &Running) -> io::Result<()> {
    writeln!(out, "The page is open at {}", running.url())?;
    if let Some(invitation) = running.invitation() {
        writeln!(out)?;
        text::paragraph(out, "", "Another device: point its camera here, or open the address.")?;
        if let Ok(code) = QRBuilder::new(invitation.as_str()).build() {
            writeln!(out, "{}", code.to_str())?;
        }
        writeln!(out, "{}", invitation.split('#').next().unwrap_or(&invitation))?;
        if let Some(fingerprint) = running.fingerprint() {
            let words = format!(
                "Its browser will say that nobody vouches for the certificate, and ask. It is the \
                 right one if its SHA-256 fingerprint is {fingerprint}."
            );
            text::paragraph(out, "", &words)?;
        }
    } else if let Some(code) = running.pairing_code() {
        writeln!(out, "Code for another device: {code}, port {}", running.port())?;
        let words = "This machine has no private address on a network now. Other devices find it, \
                     and are let in, once it has one.";
        text::paragraph(out, "", words)?;
    }
    writeln!(out, "Ctrl-C ends it.")
}
