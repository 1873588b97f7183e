use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::Args;
use serde_json::json;
use slotkeep_api::{Failure, FailureKind};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Serve {
    /// Port of the loopback address; any free one where it is 0
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    port: u16,
    /// Also open the door for phones on the local network, over HTTPS
    #[arg(long)]
    lan: bool,
    /// Port of the door for phones
    #[arg(long, value_name = "NUMBER", default_value_t = 8443)]
    lan_port: u16,
}

impl Serve {
    /// Serves the screens until the person ends the program.
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let api = session.api(true)?;
        let folder = beside(&session.store_path()?);
        let runtime = tokio::runtime::Runtime::new().map_err(broken)?;
        runtime.block_on(async {
            let ending = slotkeep_door::Ending::hear();
            let screens =
                slotkeep_door::serve_loopback(api.clone(), self.port).await.map_err(broken)?;
            let phones = match self.lan {
                true => Some(
                    slotkeep_door::serve_lan(api, self.lan_port, &folder).await.map_err(broken)?,
                ),
                false => None,
            };
            let url = phones.as_ref().map(|door| door.open_url.as_str());
            say(&screens.open_url, url, session.json())?;
            ending.asked().await;
            screens.stop().await;
            if let Some(phones) = phones {
                phones.stop().await;
            }
            Ok(())
        })
    }
}

fn say(screens: &str, phones: Option<&str>, as_json: bool) -> Result<(), Stop> {
    if as_json {
        return Ok(output::reply(&json!({"screens": screens, "phones": phones}), true)?);
    }
    let mut text = format!(
        "Slotkeep serves its screens at {screens}\n\
         Only this computer reaches that address. End with Ctrl+C.\n"
    );
    if let Some(url) = phones {
        text += &format!("Phones on the local network reach {url}\n");
    }
    Ok(output::print(&text)?)
}

/// The folder of the door's certificates, which lies beside the store.
fn beside(store: &Path) -> PathBuf {
    let mut name = store.as_os_str().to_owned();
    name.push("-door");
    PathBuf::from(name)
}

fn broken(why: impl std::fmt::Display) -> Failure {
    Failure::new(FailureKind::Broken, why.to_string())
}
