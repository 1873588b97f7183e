//! From text to QR symbol, and from image to labels: bytes in, bytes out.

mod photo;
mod read;
mod symbol;

pub use photo::{Limits, PhotoRefusal, decode};
pub use read::{Found, Grey, PhotoReading, Reader, Verdict, read_frame, read_photo};
pub use symbol::{Level, Symbol, SymbolRefusal, symbol};
