/// What a level of a reference designation looks at (IEC 81346-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aspect {
    Function,
    Location,
    Product,
    Other,
}

/// One level with its prefix; levels of the same aspect may follow after dots.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Level {
    pub aspect: Aspect,
    pub code: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Designation {
    pub levels: Vec<Level>,
    /// Terminal of the thing (IEC 61666).
    pub terminal: Option<String>,
}

/// Where a text stops being a reference designation, in one sentence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is no reference designation: {why}")]
pub struct DesignationRefusal {
    pub text: String,
    pub why: String,
}

impl Aspect {
    pub fn prefix(self) -> char {
        match self {
            Self::Function => '=',
            Self::Location => '+',
            Self::Product => '-',
            Self::Other => '#',
        }
    }

    fn of(prefix: char) -> Option<Self> {
        [Self::Function, Self::Location, Self::Product, Self::Other]
            .into_iter()
            .find(|aspect| aspect.prefix() == prefix)
    }
}

/// Reads a reference designation such as `=A1+S2-K3` or `-A1-K2:13`.
///
/// Each level has a prefix and letters, a number, or letters and then a number; a dot may stand in
/// place of a prefix that repeats. Blanks are not allowed.
///
/// Fails with the first place that does not fit.
///
/// Source: IEC 81346-1 and IEC 61666, from memory.
pub fn designation(text: &str) -> Result<Designation, DesignationRefusal> {
    let refuse = |why: String| DesignationRefusal { text: text.to_owned(), why };
    let (body, terminal) = match text.split_once(':') {
        Some((body, terminal)) => (body, Some(terminal)),
        None => (text, None),
    };
    if let Some(terminal) = terminal
        && (terminal.is_empty() || !terminal.bytes().all(|b| b.is_ascii_alphanumeric()))
    {
        return Err(refuse("after the colon stands a terminal, of letters and digits".to_owned()));
    }
    let mut levels: Vec<Level> = Vec::new();
    for letter in body.chars() {
        match (Aspect::of(letter), levels.last_mut()) {
            (Some(aspect), _) => levels.push(Level { aspect, code: String::new() }),
            (None, Some(level)) => level.code.push(letter),
            (None, None) => {
                return Err(refuse("begin with =, +, - or #".to_owned()));
            }
        }
    }
    if levels.is_empty() {
        return Err(refuse("begin with =, +, - or #".to_owned()));
    }
    for level in &levels {
        if let Some(code) = level.code.split('.').find(|code| !is_code(code)) {
            let prefix = level.aspect.prefix();
            let said = format!(
                "{code:?} after {prefix} is not letters, a number, or letters and then a number"
            );
            return Err(refuse(said));
        }
    }
    Ok(Designation { levels, terminal: terminal.map(str::to_owned) })
}

fn is_code(code: &str) -> bool {
    let digits = code.trim_start_matches(|c: char| c.is_ascii_uppercase());
    !code.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())
}
