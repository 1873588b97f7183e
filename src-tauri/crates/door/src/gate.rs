use crate::DoorFault;
use axum::http::{HeaderMap, header};
use sha2::{Digest, Sha256};
use slotkeep_api::{Api, Caller, Failure, FailureKind};

/// Who is let in.
pub(crate) enum Gate {
    /// The window of this computer: whoever shows the secret of this start.
    Loopback { secret: String, port: u16, owner: Caller },
    /// Devices on the local network: whoever shows the pass of a device.
    Lan,
}

impl Gate {
    /// Name of the cookie; ports of one host share cookies, so the port is part of it.
    pub(crate) fn cookie(&self) -> String {
        match self {
            Self::Loopback { port, .. } => format!("slotkeep_{port}"),
            Self::Lan => "slotkeep_device".to_owned(),
        }
    }

    /// Refuses a request that another site's page may have sent, or that reached this port under
    /// a foreign name.
    pub(crate) fn same_site(&self, headers: &HeaderMap) -> Result<(), Failure> {
        let text = |name| headers.get(name).and_then(|value| value.to_str().ok());
        let host = text(header::HOST).unwrap_or_default();
        if let Self::Loopback { port, .. } = self {
            let own = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
            if !own.iter().any(|own| own == host) {
                return Err(foreign(host));
            }
        }
        match text(header::ORIGIN) {
            Some(origin) if origin.split_once("://").is_none_or(|(_, from)| from != host) => {
                Err(foreign(origin))
            }
            _ => Ok(()),
        }
    }

    /// Who sends a request, by its cookie.
    pub(crate) fn caller(&self, api: &Api, headers: &HeaderMap) -> Result<Caller, Failure> {
        let shown = cookie(headers, &self.cookie()).ok_or_else(unknown)?;
        self.caller_showing(api, &shown)
    }

    /// Who shows a secret or pass.
    pub(crate) fn caller_showing(&self, api: &Api, shown: &str) -> Result<Caller, Failure> {
        match self {
            Self::Loopback { secret, owner, .. } => {
                if same(secret, shown) {
                    Ok(owner.clone())
                } else {
                    Err(unknown())
                }
            }
            Self::Lan => api.caller_with_pass(shown)?.ok_or_else(unknown),
        }
    }
}

/// The person who started this program on this computer.
pub(crate) fn local_owner() -> Caller {
    let name = ["SLOTKEEP_PERSON", "USER", "LOGNAME", "USERNAME"]
        .into_iter()
        .find_map(|name| std::env::var(name).ok().filter(|value| !value.trim().is_empty()));
    let host = gethostname::gethostname().to_string_lossy().into_owned();
    Caller::owner(name.unwrap_or_else(|| "owner".to_owned()), host)
}

/// 256 random bits, in hexadecimal.
pub(crate) fn new_secret() -> Result<String, DoorFault> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|error| DoorFault::Random(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Compares digests, so that the time taken says nothing about the secret.
fn same(secret: &str, shown: &str) -> bool {
    Sha256::digest(secret) == Sha256::digest(shown)
}

fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, _)| *key == name)
        .map(|(_, value)| value.to_owned())
}

fn unknown() -> Failure {
    Failure::new(
        FailureKind::NotIdentified,
        "this device is not let in: type the pass that the owner of the store made for it",
    )
}

fn foreign(from: &str) -> Failure {
    Failure::new(
        FailureKind::NotAllowed,
        format!("a request from {from:?} is not answered here: open Slotkeep by its own address"),
    )
}
