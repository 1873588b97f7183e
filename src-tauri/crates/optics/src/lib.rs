//! From text to QR symbol, and from image to labels: bytes in, bytes out.

mod capacity;
mod design;
mod parallel;
mod photo;
mod proof;
mod quality;
mod read;
mod symbol;

pub use capacity::{Blocks, TextMode, capacity, smallest};
pub use design::{
    DISTANCE_PER_WIDTH, QUIET_MODULES, distance_mm, dots_mm, module_dots, side_modules, symbol_mm,
    with_quiet_mm,
};
pub use parallel::in_parallel;
pub use photo::{Limits, PhotoRefusal, decode};
pub use proof::{Proof, ProofFailure};
pub use quality::{Grade, Graded, Quality, QualityRefusal, quality};
pub use read::{Found, Grey, PhotoReading, Reader, Verdict, read_frame, read_photo};
pub use symbol::{Level, Symbol, SymbolRefusal, symbol, symbol_of, symbols};
