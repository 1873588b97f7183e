//! From text to QR symbol, and from image to labels: bytes in, bytes out.

mod anatomy;
mod capacity;
mod codeword;
mod design;
mod evidence;
mod finder;
mod first;
mod known;
mod light;
mod photo;
mod pose;
mod proof;
mod quality;
mod rail;
mod read;
mod recognise;
mod second;
mod sight;
mod symbol;

pub use anatomy::{Anatomy, anatomy};
pub use capacity::{Blocks, TextMode, capacity, smallest};
pub use codeword::codewords;
pub use design::{
    DISTANCE_PER_WIDTH, QUIET_MODULES, distance_mm, dots_mm, module_dots, side_modules, symbol_mm,
    with_quiet_mm,
};
pub use known::{KnownLabels, Match, Soft};
pub use photo::{Grey, Keepable, Limits, PhotoRefusal, decode, keepable};
pub use proof::{Proof, ProofFailure};
pub use quality::{Grade, Graded, Quality, QualityRefusal, quality};
pub use rail::{MergedLabel, MergedRail, Rail, SeenLabel, merged, rails};
pub use read::{
    Found, PATIENCE, PhotoReading, Reader, Surety, Verdict, read_frame, read_grey, read_photo,
};
pub use symbol::{Level, Symbol, SymbolRefusal, symbol, symbol_of, symbols};
