//! The preview: the site of a base on a loopback port, made in memory, findings in the page, shown again after each save.
//!
//! In: the folder of a base and a port. Out: nothing but answers, until somebody presses Ctrl-C. Stands outside the order of the
//! stages; nothing imports it but the command.
//!
//! Three parties: the watcher tells the [`builder`] which files changed; the builder, one thread, holds the base and makes pages;
//! the [`http`] side asks it for them.

mod builder;
mod dress;
mod http;
mod pages;
mod placed;
mod watch;

use std::io::ErrorKind;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::mpsc;

use builder::{Ask, Place, Told};
use http::Desk;

use crate::load::Disk;
use crate::pipeline::Engine;

/// The port that is tried first; after it some more, then any.
pub const PORT: u16 = 4680;
const TRIED: u16 = 20;

/// A preview that is ready to be served.
pub struct Preview {
    place: Place,
    engine: Engine,
    listener: TcpListener,
    port: u16,
    asks: mpsc::Sender<Ask>,
    questions: mpsc::Receiver<Ask>,
    watching: watch::Watch,
}

impl Preview {
    /// Reads the base, watches it, and takes a port: this one, or without one a free one near [`PORT`].
    ///
    /// # Errors
    /// One sentence: the folder can't be read or is no base, it can't be watched, or the port can't be had.
    pub fn new(base: &Path, prefix: String, port: Option<u16>) -> Result<Self, String> {
        let fault = |why: String| format!("{}: {why}", base.display());
        let listener = listen(port)?;
        let port = listener.local_addr().map_err(|e| format!("the port cannot be had: {e}"))?.port();
        let mut engine = Engine::open(&Disk::new(base)).map_err(fault)?;
        let watched = base.canonicalize().map_err(|e| fault(format!("the folder cannot be read: {e}")))?;
        let (asks, questions) = mpsc::channel();
        let tell = asks.clone();
        let watching = watch::watch(&watched, move |paths: Vec<PathBuf>| {
            // The builder is gone only when the program ends.
            let _ = tell.send(Ask::Changed(paths));
        })?;
        // What was saved between reading and watching.
        engine.reload(&Disk::new(base)).map_err(fault)?;
        let place = Place { base: base.to_owned(), watched, prefix };
        Ok(Self { place, engine, listener, port, asks, questions, watching })
    }

    /// Where a browser finds it.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Serves until Ctrl-C.
    ///
    /// # Errors
    /// One sentence, where the system refuses what serving needs.
    pub fn serve(self) -> Result<(), String> {
        let Self { place, engine, listener, port, asks, questions, watching } = self;
        let (telling, told) = tokio::sync::watch::channel(Told::of(&engine, 1));
        std::thread::Builder::new()
            .name("builder".into())
            .spawn(move || builder::work(engine, &place, watching, &questions, &telling))
            .map_err(|e| format!("cannot start: {e}"))?;
        let desk = Desk { asks, told, names: http::names(port) };
        let served = tokio::runtime::Builder::new_current_thread()
            .enable_io()
            .enable_time()
            .build()
            .and_then(|runtime| runtime.block_on(until_stopped(listener, port, desk)));
        served.map_err(|e| format!("cannot serve: {e}"))
    }
}

async fn until_stopped(listener: TcpListener, port: u16, desk: Desk) -> std::io::Result<()> {
    let router = http::router(desk);
    let listener = tokio::net::TcpListener::from_std(listener)?;
    // Some browsers take `localhost` for the other loopback address; without it they fall back to the first.
    let second = tokio::net::TcpListener::bind((Ipv6Addr::LOCALHOST, port)).await.ok();
    let also = router.clone();
    let second = async move {
        match second {
            Some(listener) => axum::serve(listener, also).await,
            None => std::future::pending().await,
        }
    };
    tokio::select! {
        served = axum::serve(listener, router) => served,
        served = second => served,
        stopped = stopped() => stopped,
    }
}

/// Ctrl-C, or the request to end that a system sends.
async fn stopped() -> std::io::Result<()> {
    #[cfg(unix)]
    {
        let mut ended = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate())?;
        tokio::select! {
            stopped = tokio::signal::ctrl_c() => stopped,
            _ = ended.recv() => Ok(()),
        }
    }
    #[cfg(not(unix))]
    tokio::signal::ctrl_c().await
}

fn listen(port: Option<u16>) -> Result<TcpListener, String> {
    let bind = |port: u16| {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)))?;
        listener.set_nonblocking(true)?;
        Ok::<_, std::io::Error>(listener)
    };
    match port {
        Some(port) => bind(port).map_err(|error| match error.kind() {
            ErrorKind::AddrInUse => {
                format!(
                    "port {port} is in use by another program: give another with --port, or none to take a free one"
                )
            }
            ErrorKind::PermissionDenied => format!("port {port} is reserved: give one above 1023 with --port"),
            _ => format!("port {port} cannot be had: {error}"),
        }),
        None => (PORT..PORT + TRIED)
            .find_map(|port| bind(port).ok())
            .map_or_else(|| bind(0).map_err(|error| format!("no port can be had: {error}")), Ok),
    }
}
