use std::path::PathBuf;

/// Why the door cannot be opened, and what to do.
#[derive(Debug, thiserror::Error)]
pub enum DoorFault {
    #[error("port {port} cannot be opened ({why}): choose another port or end what uses it")]
    Port { port: u16, why: std::io::Error },
    #[error("{path} cannot be read or written ({why}): check the folder's rights")]
    File { path: PathBuf, why: std::io::Error },
    #[error("the certificate for HTTPS cannot be made: {0}")]
    Certificate(String),
    #[error("the system gave no random bits: {0}")]
    Random(String),
}
