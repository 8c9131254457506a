//! The server of one run: a port, a pass, the pages, a clean end.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use axum::{Router, middleware};
use axum_server::Handle;
use jiff::Timestamp;
use store::{Store, StoreError};
use tokio::net::TcpListener;
use uuid::Uuid;

use crate::desk::Outside;
use crate::guard::{self, Guard};
use crate::holder::{self, Holder};
use crate::look::qr;
use crate::net::address;
use crate::net::gate::{self, Gate};
use crate::net::listen::{self, Network};
use crate::net::phones::Opening;

/// The usual port; another one is taken where it is in use.
pub const PORT: u16 = 4717;

/// So long a request that runs may take to finish when the workbench stops, and so long the store to close.
const GRACE: Duration = Duration::from_millis(400);

/// How the workbench is opened.
#[derive(Clone, Debug, Default)]
pub struct Setup {
    /// File that everything is kept in; the platform's data folder where nothing is said.
    pub data: Option<PathBuf>,
    /// Port; the usual one, or any free one, where nothing is said.
    pub port: Option<u16>,
    /// Whether a browser is opened.
    pub browser: Browser,
    /// Whether phones in the local network may be paired.
    pub reach: Reach,
}

/// From where the workbench can be reached.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Reach {
    /// From this machine.
    #[default]
    Machine,
    /// From the local networks of this machine too, by paired phones.
    Network,
    /// From these addresses too; what a test says instead.
    Addresses(Vec<Ipv4Addr>),
}

/// Whether a browser is opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Browser {
    /// Where there is one.
    #[default]
    Open,
    /// No: the address is printed.
    Leave,
}

/// Why the workbench does not open.
#[derive(Debug)]
pub enum Trouble {
    /// The port.
    Port(u16, std::io::Error),
    /// The machine is in no local network.
    NoNetwork,
    /// What it takes to be reached from the local network.
    Network(std::io::Error),
    /// The person has no folder for data, and named none.
    NoFolder,
    /// What everything is kept in.
    Store(StoreError),
    /// The system.
    System(std::io::Error),
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Trouble::Port(port, why) => write!(
                f,
                "port {port} cannot be used: {why}; name another one with --port, or leave it out to have a free one taken"
            ),
            Trouble::NoNetwork => f.write_str(
                "this machine has no address in a local network; join one, or leave --lan out",
            ),
            Trouble::Network(why) => write!(
                f,
                "the workbench cannot be opened to the local network: {why}; check that the folder of the data may be written \
                 to, or leave --lan out"
            ),
            Trouble::NoFolder => {
                f.write_str("there is no folder for your data here; name a file with --data FILE")
            }
            Trouble::Store(why) => write!(f, "{why}"),
            Trouble::System(why) => write!(f, "the workbench cannot be opened: {why}"),
        }
    }
}

impl std::error::Error for Trouble {}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Trouble {
        Trouble::Store(error)
    }
}

/// The clock and chance of this machine, started here and nowhere else.
pub fn outside() -> Outside {
    Outside {
        now: Timestamp::now,
        today: || jiff::ZonedDateTime::now().date(),
        name: Uuid::new_v4,
    }
}

/// Opens the workbench and stays until ctrl-c. `say` is told as soon as it can be opened.
///
/// # Errors
/// What is in the way, with what to do.
pub fn open(setup: &Setup, say: impl FnOnce(&Opened)) -> Result<(), Trouble> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    let runtime = runtime.map_err(Trouble::System)?;
    let ended = runtime.block_on(async {
        let running = start(setup, outside()).await?;
        let end = stopped(); // heard of before anybody is told how to stop it
        say(&running.opened());
        if setup.browser == Browser::Open {
            let address = running.address.clone();
            // where there is no browser the printed address is enough
            tokio::task::spawn_blocking(move || drop(webbrowser::open(&address)));
        }
        running.until(end).await
    });
    // an answer that is being worked out would keep the program for as long as it takes
    runtime.shutdown_background();
    ended
}

/// Ends on ctrl-c, or on what a system sends to have a program end; both are heard of from the call on.
#[cfg(unix)]
fn stopped() -> impl Future<Output = ()> + Send + 'static {
    use tokio::signal::unix::{SignalKind, signal};
    let heard = (
        signal(SignalKind::interrupt()),
        signal(SignalKind::terminate()),
    );
    async move {
        match heard {
            (Ok(mut one), Ok(mut other)) => {
                tokio::select! { _ = one.recv() => {} _ = other.recv() => {} }
            }
            // the system's own way of ending a program is left then
            _ => std::future::pending().await,
        }
    }
}

/// Ends on ctrl-c.
#[cfg(not(unix))]
async fn stopped() {
    let _ = tokio::signal::ctrl_c().await;
}

/// What a person is told when the workbench is open.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The address that hands the pass over.
    pub address: String,
    /// For phones in the local network.
    pub network: Option<ForPhones>,
    /// What is damaged, where the data could not be opened for it.
    pub damage: Option<String>,
}

/// How a phone comes in.
#[derive(Clone, Debug)]
pub struct ForPhones {
    /// The address to open on it.
    pub address: String,
    /// SHA-256 of the certificate.
    pub fingerprint: String,
    holder: Arc<Holder>,
}

impl ForPhones {
    /// A code for one phone, and address and code as a picture of a terminal's half blocks. Only for the eyes of whoever sits
    /// there: never to a file.
    pub fn code(&self) -> Option<(String, String)> {
        let digits = self.holder.phones.new_code()?;
        let picture = qr::blocks(&qr::link(&self.address, &digits));
        Some((digits, picture))
    }
}

/// A workbench that can be reached.
pub struct Running {
    /// The address that hands the pass over.
    pub address: String,
    listener: TcpListener,
    guard: Guard,
    network: Option<Network>,
    holder: Arc<Holder>,
}

/// Opens the store and takes the ports.
///
/// # Errors
/// What is in the way.
pub async fn start(setup: &Setup, outside: Outside) -> Result<Running, Trouble> {
    let listener = listen(setup.port).await?;
    let port = listener.local_addr().map_err(Trouble::System)?.port();
    let path = match &setup.data {
        Some(path) => path.clone(),
        None => Store::default_path().ok_or(Trouble::NoFolder)?,
    };
    let holder = Holder::open(&path, outside).await?;
    let addresses = match &setup.reach {
        Reach::Machine => Vec::new(),
        Reach::Network => Some(address::local())
            .filter(|it| !it.is_empty())
            .ok_or(Trouble::NoNetwork)?,
        Reach::Addresses(all) => all.clone(),
    };
    let network = match addresses.is_empty() {
        true => None,
        false => Some(listen::listen(&path, &addresses, outside).map_err(Trouble::Network)?),
    };
    if let Some(network) = &network {
        holder.phones.open(network.opening.clone());
    }
    let pass = format!("{}{}", (outside.name)().simple(), (outside.name)().simple());
    let guard = Guard::on_loopback(port, pass);
    Ok(Running {
        address: guard.address(),
        listener,
        guard,
        network,
        holder,
    })
}

/// The port that was named, else the usual one, else any.
async fn listen(named: Option<u16>) -> Result<TcpListener, Trouble> {
    let on = |port| TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)));
    match named {
        Some(port) => on(port).await.map_err(|it| Trouble::Port(port, it)),
        None => match on(PORT).await {
            Ok(listener) => Ok(listener),
            Err(_) => on(0).await.map_err(|it| Trouble::Port(PORT, it)),
        },
    }
}

impl Running {
    /// What a person is told.
    pub fn opened(&self) -> Opened {
        let for_phones = |it: &Opening| ForPhones {
            address: it.addresses.first().cloned().unwrap_or_default(),
            fingerprint: it.fingerprint.clone(),
            holder: self.holder.clone(),
        };
        Opened {
            address: self.address.clone(),
            network: self.holder.phones.opening().map(for_phones),
            damage: self.holder.damage(),
        }
    }

    /// Serves until `end`; then requests that run have a moment to finish.
    ///
    /// # Errors
    /// What the system says when it takes the port away.
    pub async fn until(
        self,
        end: impl Future<Output = ()> + Send + 'static,
    ) -> Result<(), Trouble> {
        let holder = self.holder;
        let phones = Handle::new();
        if let Some(network) = self.network {
            let gate = Gate::new(network.hosts.clone(), network.port, holder.clone());
            let app = Router::new()
                .fallback(holder::for_phones)
                .with_state(holder.clone())
                .layer(middleware::from_fn_with_state(gate, gate::stand));
            network.answer(&app, &phones).map_err(Trouble::Network)?;
        }
        let app = Router::new()
            .fallback(holder::for_laptop)
            .with_state(holder.clone())
            .layer(middleware::from_fn_with_state(self.guard, guard::stand));
        let (stop, mut stopping) = tokio::sync::watch::channel(false);
        let stopped = async move {
            let _ = stopping.changed().await; // told, or whoever would tell is gone
        };
        let served = axum::serve(self.listener, app).with_graceful_shutdown(stopped);
        let mut served = tokio::spawn(served.into_future());
        let ended = tokio::select! {
            it = &mut served => Some(it),
            () = end => None,
        };
        holder.end_streams();
        phones.graceful_shutdown(Some(GRACE));
        let _ = stop.send(true); // it may have ended by itself
        let ended = match ended {
            Some(it) => Some(it),
            None => tokio::time::timeout(GRACE, &mut served).await.ok(),
        };
        served.abort();
        // whatever was acknowledged is in the file already
        let _ = tokio::time::timeout(GRACE, holder.close()).await;
        match ended {
            Some(Ok(it)) => it.map_err(Trouble::System),
            Some(Err(_)) | None => Ok(()),
        }
    }
}
