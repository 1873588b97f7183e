//! The desktop window: opens a store and shows the screens that the door serves to it alone.

#![cfg_attr(all(windows, not(debug_assertions)), windows_subsystem = "windows")]

mod camera;
mod downloads;
mod opened;
mod pictures;
mod window;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use opened::Opened;

/// Imports and checks make and drop millions of small texts, which costs the system's own
/// allocator a fifth of the time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Opens a site's store in a window of its own.
#[derive(Parser)]
#[command(name = "slotkeep-app", version)]
struct Args {
    /// The site's store; an empty one is made where there is none. Without it, the one of this
    /// person on this computer.
    #[arg(long, value_name = "FILE")]
    store: Option<PathBuf>,
    /// Serves the screens on the loopback address instead of opening a window.
    #[arg(long)]
    serve: bool,
    /// The port of the loopback address; any free one where it is 0.
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Also opens the door for phones on the local network.
    #[arg(long)]
    lan: bool,
    /// The port of that door.
    #[arg(long, value_name = "N", default_value_t = 8443)]
    lan_port: u16,
}

fn main() -> ExitCode {
    let args = Args::parse();
    let with_window = !args.serve && has_display();
    let opened = Opened::new(&args);
    if with_window {
        if let Some(url) = opened.as_ref().ok().and_then(Opened::lan_url) {
            println!("Phones on the local network reach {url}");
        }
        return window::show(opened);
    }
    match opened {
        Ok(opened) => {
            opened.serve();
            ExitCode::SUCCESS
        }
        Err(sentence) => {
            eprintln!("{sentence}");
            ExitCode::FAILURE
        }
    }
}

/// Tells whether a window can be shown: the web view ends the program where there is no display.
fn has_display() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || set("DISPLAY") || set("WAYLAND_DISPLAY")
}
