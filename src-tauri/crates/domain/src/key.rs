//! Mechanical keys: which module can be plugged onto which base.

use std::fmt;

/// How one mechanical key design is set: how many keys, and which letters each can show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyScheme {
    /// Short name used in files, e.g. `std` or `is`.
    pub name: String,
    pub title: String,
    /// How many keys a base carries, read left to right.
    pub keys: u32,
    /// Every letter that a key can be turned to.
    pub letters: String,
    /// Whether this is the design of intrinsically safe bases.
    pub intrinsically_safe: bool,
}

/// The scheme and letters that a base is set to, or that a module carries from the factory.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct KeySetting {
    pub scheme: String,
    pub code: String,
}

impl KeyScheme {
    /// Checks letters against the scheme and returns the setting.
    ///
    /// Fails with a sentence that names the letter or the count that does not fit.
    pub fn setting(&self, code: &str) -> Result<KeySetting, String> {
        let code = code.trim().to_uppercase();
        let count = code.chars().count();
        if count != self.keys as usize {
            return Err(format!(
                "key code {code:?} has {count} letters; scheme {:?} has {} keys",
                self.name, self.keys
            ));
        }
        if let Some(letter) = code.chars().find(|c| !self.letters.contains(*c)) {
            return Err(format!(
                "key letter {letter:?} does not exist in scheme {:?}; its letters are {}",
                self.name, self.letters
            ));
        }
        Ok(KeySetting { scheme: self.name.clone(), code })
    }
}

impl fmt::Display for KeySetting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.scheme, self.code)
    }
}
