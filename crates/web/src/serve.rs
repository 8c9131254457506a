//! The server of one run: a port, a pass, the pages, a clean end.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;

use jiff::Timestamp;
use store::{SiteId, Store, StoreError, VisitId};
use tokio::net::TcpListener;
use tokio::sync::broadcast;
use uuid::Uuid;

use crate::demo;
use crate::desk::{Desk, News, Outside};
use crate::guard::Guard;
use crate::routes;

/// The usual port; another one is taken where it is in use.
pub const PORT: u16 = 4717;

/// How the workbench is opened.
#[derive(Clone, Debug, Default)]
pub struct Setup {
    /// File that everything is kept in; the platform's data folder where nothing is said.
    pub data: Option<PathBuf>,
    /// Port; the usual one, or any free one, where nothing is said.
    pub port: Option<u16>,
    /// Whether a browser is opened.
    pub browser: Browser,
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

/// Opens the workbench and stays until ctrl-c. `say` is given the address as soon as it can be opened.
///
/// # Errors
/// What is in the way, with what to do.
pub fn open(setup: &Setup, say: impl FnOnce(&str)) -> Result<(), Trouble> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    runtime.map_err(Trouble::System)?.block_on(async {
        let running = start(setup, outside()).await?;
        say(&running.address);
        if setup.browser == Browser::Open {
            let address = running.address.clone();
            // where there is no browser the printed address is enough
            tokio::task::spawn_blocking(move || drop(webbrowser::open(&address)));
        }
        running.until(stopped()).await
    })
}

/// Ctrl-c, or what a system sends to have a program end.
async fn stopped() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let kind = tokio::signal::unix::SignalKind::terminate();
        if let Ok(mut ended) = tokio::signal::unix::signal(kind) {
            tokio::select! { _ = interrupted => {} _ = ended.recv() => {} }
            return;
        }
    }
    let _ = interrupted.await;
}

/// A workbench that can be reached.
pub struct Running {
    /// The address that hands the pass over.
    pub address: String,
    listener: TcpListener,
    guard: Guard,
    desk: Arc<Desk>,
}

/// Opens the store and takes a port.
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
    let new = !path.exists();
    let store = Store::open(&path).await?;
    if new {
        put_demo(&store, outside).await?;
    }
    let pass = format!("{}{}", (outside.name)().simple(), (outside.name)().simple());
    let guard = Guard::on_loopback(port, pass);
    Ok(Running {
        address: guard.address(),
        listener,
        guard,
        desk: Arc::new(Desk::new(store, outside)),
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

/// A fresh store begins with the invented site, so that there is something to look at.
async fn put_demo(store: &Store, outside: Outside) -> Result<(), StoreError> {
    let now = (outside.now)();
    let site = SiteId((outside.name)());
    store.create_site(site, demo::SITE, now).await?;
    store
        .import_visit(VisitId((outside.name)()), site, demo::VISIT, now)
        .await?;
    Ok(())
}

impl Running {
    /// Serves until `end`, then lets requests that are being answered finish.
    ///
    /// # Errors
    /// What the system says when it takes the port away.
    pub async fn until(
        self,
        end: impl Future<Output = ()> + Send + 'static,
    ) -> Result<(), Trouble> {
        let app = routes::all(self.desk.clone(), self.guard.clone());
        let news: broadcast::Sender<News> = self.desk.news.clone();
        let end = async move {
            end.await;
            let _ = news.send(News::End); // pages that listen for changes would keep the server from ending
        };
        let served = axum::serve(self.listener, app)
            .with_graceful_shutdown(end)
            .await;
        self.desk.store.close().await;
        served.map_err(Trouble::System)
    }
}
