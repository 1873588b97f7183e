use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use serde_json::json;

/// Checks the store and says what was found; stops with code 1 when it is not clean.
pub fn run(session: &Session) -> Result<(), Stop> {
    let report = session.ask("journal.verify", json!({}), false)?;
    output::reply(&report, session.json())?;
    if report["clean"] == true { Ok(()) } else { Err(Stop::Said(1)) }
}
