use super::{Calc, Entry, entry};
use icalendar::{Component, Event, EventLike};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<Line>()]
}

/// A text as the calendar file writes it: escaped, and folded into lines of at most 75 bytes (RFC
/// 5545).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Line {
    /// `SUMMARY`, `DESCRIPTION` or `LOCATION`.
    property: String,
    /// What it says.
    text: String,
}

#[derive(Serialize, JsonSchema)]
struct Written {
    /// The property with its text, line ends in it where it is folded.
    folded: String,
    /// The text alone, escaped and not folded.
    escaped: String,
}

impl Calc for Line {
    const NAME: &'static str = "calendar-line";
    type Reply = Written;

    fn reckon(self) -> Result<Written, String> {
        let mut event = Event::new();
        match self.property.as_str() {
            "SUMMARY" => event.summary(&self.text),
            "DESCRIPTION" => event.description(&self.text),
            "LOCATION" => event.location(&self.text),
            other => {
                return Err(format!(
                    "property is {other:?}: give SUMMARY, DESCRIPTION or LOCATION"
                ));
            }
        };
        let name = format!("{}:", self.property);
        let file = event.done().to_string();
        let lines = file.split("\r\n").skip_while(|line| !line.starts_with(&name));
        let mut folded: Vec<&str> = Vec::new();
        for line in lines {
            if !folded.is_empty() && !line.starts_with([' ', '\t']) {
                break;
            }
            folded.push(line);
        }
        let folded = folded.join("\r\n");
        let whole = folded.replace("\r\n ", "");
        let escaped = whole.strip_prefix(&name).unwrap_or_default().to_owned();
        Ok(Written { folded, escaped })
    }
}
