//! `cargo xtask make-site`: an invented plant of any size, as files to import.

use std::path::PathBuf;

use lexopt::{Arg, ValueExt};
use slotkeep_xtask::make_site::{SAMPLE_SEED, Size, make_site};

use crate::process::Failure;

/// Rows of history of a plant whose size is given without them: ten for each unit.
const HISTORY_PER_UNIT: usize = 10;

/// Reads the words after `make-site` and writes the files.
pub fn command(args: &mut lexopt::Parser) -> Result<(), Failure> {
    let (mut folder, mut units, mut history) = (None, None, None);
    let mut seed = SAMPLE_SEED;
    while let Some(arg) = args.next()? {
        match arg {
            Arg::Long("units") => units = Some(args.value()?.parse::<usize>()?),
            Arg::Long("history") => history = Some(args.value()?.parse::<usize>()?),
            Arg::Long("seed") => seed = args.value()?.parse()?,
            Arg::Value(path) if folder.is_none() => folder = Some(PathBuf::from(path)),
            other => return Err(other.unexpected().into()),
        }
    }
    let Some(folder) = folder else {
        return Err(Failure::new("Name the folder to write: cargo xtask make-site FOLDER."));
    };
    let size = match units {
        Some(units) => Size::units(units, history.unwrap_or(units * HISTORY_PER_UNIT)),
        None => Size::sample(),
    };
    make_site(&folder, &size, seed)
        .map_err(|e| Failure::new(format!("{} cannot be written: {e}", folder.display())))?;
    println!("Written: {}", folder.display());
    Ok(())
}
