use crate::DoorFault;
use crate::camera::{Cameras, Eye};
use crate::certificate::certificate;
use crate::gate::{Gate, local_owner, new_secret};
use crate::live::watch;
use crate::pictures::Pictures;
use crate::router::{Door, router};
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use slotkeep_api::Api;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// An open door.
pub struct Running {
    pub address: SocketAddr,
    /// The address to open; on loopback it carries the secret of this start.
    pub open_url: String,
    handle: Handle<SocketAddr>,
}

impl Running {
    /// Lets running requests finish for a second, then closes.
    pub async fn stop(self) {
        self.handle.graceful_shutdown(Some(Duration::from_secs(1)));
        while self.handle.connection_count() > 0 {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Serves until the process ends.
    pub async fn forever(&self) {
        std::future::pending::<()>().await;
    }
}

/// Opens the door on 127.0.0.1 for the person at this computer; port 0 takes any free one.
///
/// Any local program can reach a port, so the address carries a secret made at each start.
/// Fails when the port is taken.
pub async fn serve_loopback(api: Arc<Api>, port: u16) -> Result<Running, DoorFault> {
    loopback(api, port, None, None).await
}

/// What a window's pages reach of their computer through the door.
pub struct Computer {
    pub cameras: Arc<dyn Cameras>,
    pub pictures: Arc<dyn Pictures>,
}

/// The same for a window whose pages reach the computer through the door.
pub async fn serve_window(
    api: Arc<Api>,
    port: u16,
    computer: Computer,
) -> Result<Running, DoorFault> {
    let eye = Arc::new(Eye::new(computer.cameras));
    loopback(api, port, Some(eye), Some(computer.pictures)).await
}

async fn loopback(
    api: Arc<Api>,
    port: u16,
    eye: Option<Arc<Eye>>,
    pictures: Option<Arc<dyn Pictures>>,
) -> Result<Running, DoorFault> {
    let listener = listen(IpAddr::V4(Ipv4Addr::LOCALHOST), port)?;
    let address = listener.local_addr().map_err(|why| DoorFault::Port { port, why })?;
    let secret = new_secret()?;
    let open_url = format!("http://{address}/open?key={secret}");
    let gate = Gate::Loopback { secret, port: address.port(), owner: local_owner() };
    let door = Arc::new(Door { news: watch(&api), api, gate, authority: None, eye, pictures });
    let handle = Handle::new();
    let server = axum_server::from_tcp(listener).map_err(|why| DoorFault::Port { port, why })?;
    let serving = server.handle(handle.clone()).serve(router(door).into_make_service());
    tokio::spawn(serving);
    Ok(Running { address, open_url, handle })
}

/// Opens the door for phones on the local network, over HTTPS.
///
/// `folder` keeps the site's own certificate authority. Fails when the port is taken or the
/// folder cannot be written.
pub async fn serve_lan(api: Arc<Api>, port: u16, folder: &Path) -> Result<Running, DoorFault> {
    let addresses = lan_addresses();
    let host = gethostname::gethostname().to_string_lossy().to_lowercase();
    let mut names: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    names.extend([host.clone(), format!("{host}.local"), "localhost".to_owned()]);
    names.retain(|name| !name.is_empty());
    let certificate = certificate(folder, names)?;
    // Another part of the program may have chosen the same provider before.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let config = RustlsConfig::from_pem(
        certificate.chain_pem.into_bytes(),
        certificate.key_pem.into_bytes(),
    );
    let config = config.await.map_err(|error| DoorFault::Certificate(error.to_string()))?;
    let listener = listen(IpAddr::V4(Ipv4Addr::UNSPECIFIED), port)?;
    let address = listener.local_addr().map_err(|why| DoorFault::Port { port, why })?;
    let shown = addresses.first().map_or_else(|| "127.0.0.1".to_owned(), ToString::to_string);
    let open_url = format!("https://{shown}:{}/", address.port());
    let authority = Some(certificate.authority_pem);
    let (news, gate) = (watch(&api), Gate::Lan);
    let door = Arc::new(Door { news, api, gate, authority, eye: None, pictures: None });
    let handle = Handle::new();
    let server = axum_server::from_tcp_rustls(listener, config)
        .map_err(|why| DoorFault::Port { port, why })?;
    let serving = server.handle(handle.clone()).serve(router(door).into_make_service());
    tokio::spawn(serving);
    Ok(Running { address, open_url, handle })
}

fn listen(ip: IpAddr, port: u16) -> Result<TcpListener, DoorFault> {
    let failed = |why| DoorFault::Port { port, why };
    let listener = TcpListener::bind((ip, port)).map_err(failed)?;
    listener.set_nonblocking(true).map_err(failed)?;
    Ok(listener)
}

/// Addresses of this computer on local networks, the first one first.
fn lan_addresses() -> Vec<IpAddr> {
    let interfaces = if_addrs::get_if_addrs().unwrap_or_default();
    interfaces
        .into_iter()
        .filter(|interface| !interface.is_loopback() && interface.ip().is_ipv4())
        .map(|interface| interface.ip())
        .collect()
}

/// Hears when a person or the system asks the program to end: Ctrl+C, or the signal that service
/// managers send.
///
/// It is made before an address is said, since whoever reads the address may ask at once.
pub struct Ending {
    #[cfg(unix)]
    signals: Vec<tokio::signal::unix::Signal>,
}

impl Ending {
    /// Hears from now on; needs a running runtime.
    ///
    /// A signal that cannot be heard is left out: the system then ends the program at once, which
    /// is as good.
    #[cfg(unix)]
    pub fn hear() -> Self {
        use tokio::signal::unix::{SignalKind, signal};
        let kinds = [SignalKind::interrupt(), SignalKind::terminate()];
        Self { signals: kinds.into_iter().filter_map(|kind| signal(kind).ok()).collect() }
    }

    #[cfg(not(unix))]
    pub fn hear() -> Self {
        Self {}
    }

    /// Returns once the program is asked to end, also where that was asked since `hear`.
    #[cfg(unix)]
    pub async fn asked(mut self) {
        std::future::poll_fn(|context| {
            let heard =
                |signal: &mut tokio::signal::unix::Signal| signal.poll_recv(context).is_ready();
            match self.signals.iter_mut().any(heard) {
                true => std::task::Poll::Ready(()),
                false => std::task::Poll::Pending,
            }
        })
        .await;
    }

    #[cfg(not(unix))]
    pub async fn asked(self) {
        tokio::signal::ctrl_c().await.unwrap_or_default();
    }
}
