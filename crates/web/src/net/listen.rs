//! Listening to the local network: TLS only, on its addresses only.

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use rustls::ServerConfig;

use super::certificate::Certificate;
use super::phones::Opening;
use crate::desk::Outside;

/// The usual port for phones; any free one where it is in use.
const PORT: u16 = 4718;
/// Whoever connects has to say what they want within so long.
const PATIENCE: Duration = Duration::from_secs(10);

/// Addresses that are listened to, not yet answered.
pub struct Network {
    listeners: Vec<TcpListener>,
    config: Arc<ServerConfig>,
    /// What a person is shown.
    pub opening: Opening,
    /// What a request may name as its host.
    pub hosts: Vec<String>,
    /// The port of all of them.
    pub port: u16,
}

/// Listens to these addresses, with a certificate that names them.
pub fn listen(data: &Path, addresses: &[Ipv4Addr], outside: Outside) -> io::Result<Network> {
    let (listeners, port) = bound(addresses)?;
    let certificate = Certificate::beside(data, addresses, outside)?;
    let hosts: Vec<String> = addresses.iter().map(|it| format!("{it}:{port}")).collect();
    let opening = Opening {
        addresses: hosts.iter().map(|it| format!("https://{it}")).collect(),
        fingerprint: certificate.fingerprint(),
    };
    let config = certificate.config().map_err(io::Error::other)?;
    Ok(Network {
        listeners,
        config,
        opening,
        hosts,
        port,
    })
}

/// One port on all addresses: the usual one, else one that is free on the first.
fn bound(addresses: &[Ipv4Addr]) -> io::Result<(Vec<TcpListener>, u16)> {
    let on = |port: u16| -> io::Result<(Vec<TcpListener>, u16)> {
        let mut port = port;
        let mut all = Vec::new();
        for address in addresses {
            let listener = TcpListener::bind(SocketAddr::from((*address, port)))?;
            listener.set_nonblocking(true)?;
            port = listener.local_addr()?.port();
            all.push(listener);
        }
        Ok((all, port))
    };
    on(PORT).or_else(|_| on(0))
}

impl Network {
    /// Answers with `app` until the handle says so.
    pub fn answer(self, app: &Router, handle: &Handle<SocketAddr>) -> io::Result<()> {
        let config = RustlsConfig::from_config(self.config);
        for listener in self.listeners {
            let mut server = axum_server::from_tcp_rustls(listener, config.clone())?
                .handle(handle.clone())
                .http1_only()
                .first_request_timeout(PATIENCE);
            server.http_builder().http1().header_read_timeout(PATIENCE);
            let app = app.clone().into_make_service();
            // ends with the handle; an address that goes away takes only its own listener with it
            tokio::spawn(async move { server.serve(app).await });
        }
        Ok(())
    }
}
