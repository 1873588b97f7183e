use super::{Calc, Entry, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::label::{LabelCode, check_character};

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<LabelCheck>(), entry::<CheckCharacter>()]
}

/// Reads a label text as people type it, and says whether its check character fits.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LabelCheck {
    /// Ten characters; spaces, dashes and small letters do not matter.
    label: String,
}

#[derive(Serialize, JsonSchema)]
struct Label {
    /// Whether it is a label of ours.
    valid: bool,
    /// As it stands in the symbol; null where it is none.
    label: Option<String>,
    /// As it stands beside the symbol; null where it is none.
    human: Option<String>,
    /// What it is stuck on; null where it is none.
    kind: Option<String>,
    /// What is wrong; empty where nothing is.
    message: String,
}

impl Calc for LabelCheck {
    const NAME: &'static str = "label-check";
    type Reply = Label;

    fn reckon(self) -> Result<Label, String> {
        Ok(match LabelCode::parse(&self.label) {
            Ok(label) => Label {
                valid: true,
                label: Some(label.as_str().to_owned()),
                human: Some(label.human()),
                kind: Some(label.kind().word().to_owned()),
                message: String::new(),
            },
            Err(refusal) => Label {
                valid: false,
                label: None,
                human: None,
                kind: None,
                message: refusal.to_string(),
            },
        })
    }
}

/// Check character of a text by ISO/IEC 7064, MOD 37-2.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CheckCharacter {
    /// Digits and capital letters A to Z.
    text: String,
}

#[derive(Serialize, JsonSchema)]
struct Check {
    /// A digit, a letter or `*`.
    check: char,
}

impl Calc for CheckCharacter {
    const NAME: &'static str = "check-character";
    type Reply = Check;

    fn reckon(self) -> Result<Check, String> {
        let usable = |byte: u8| byte.is_ascii_digit() || byte.is_ascii_uppercase();
        if self.text.is_empty() || !self.text.bytes().all(usable) {
            return Err(format!("{:?} must be digits and capital letters A to Z", self.text));
        }
        Ok(Check { check: char::from(check_character(self.text.as_bytes())) })
    }
}
