//! Temporary.
use std::fmt;
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LabelKind {
    Unit,
    Slot,
    Bin,
    Lot,
    Cabinet,
}
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SitePrefix([u8; 2]);
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LabelCode([u8; 10]);
impl SitePrefix {
    pub fn parse(t: &str) -> Result<Self, String> {
        t.as_bytes().try_into().map(Self).map_err(|_| t.to_owned())
    }
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap()
    }
}
impl fmt::Display for SitePrefix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}
impl fmt::Display for LabelCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}
impl LabelCode {
    pub fn parse(t: &str) -> Result<Self, String> {
        t.as_bytes().try_into().map(Self).map_err(|_| t.to_owned())
    }
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap()
    }
    pub fn kind(&self) -> LabelKind {
        match self.0[2] {
            b'U' => LabelKind::Unit,
            b'S' => LabelKind::Slot,
            b'B' => LabelKind::Bin,
            b'T' => LabelKind::Lot,
            _ => LabelKind::Cabinet,
        }
    }
    pub fn human(&self) -> String {
        self.as_str().to_owned()
    }
}
