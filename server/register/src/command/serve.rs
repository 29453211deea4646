//! `register serve`: the server, with the demo unless a database is named.

use crate::clock;
use crate::command::{demo, sign_on};
use crate::options;
use anyhow::{Context, Result, bail};
use std::net::SocketAddr;
use std::process::ExitCode;
use std::sync::Arc;
use store::Store;
use tokio::net::TcpListener;
use web::{Mode, WebState};

/// Runs the command until it is interrupted.
pub(crate) async fn run(options: options::Serve) -> Result<ExitCode> {
    let mode = if options.database.is_none() {
        Mode::Demo
    } else {
        Mode::Register
    };
    if mode == Mode::Demo && !options.listen.ip().is_loopback() {
        bail!(
            "the demo has accounts without passwords and is served on this machine only; {} is not a loopback address",
            options.listen
        );
    }
    let listener = TcpListener::bind(options.listen).await.with_context(|| {
        format!(
            "cannot listen on {}; give another address with --listen",
            options.listen
        )
    })?;
    let sign_on = sign_on::prepare(options.sign_on).await?;
    let address = options.database.as_deref().unwrap_or(demo::DATABASE);
    if mode == Mode::Demo {
        std::fs::create_dir_all("data").context("cannot make the folder data")?;
    }
    let store = Store::open(address, options.zone).await?;
    if mode == Mode::Demo {
        demo::prepare(&store, &options.seed_data).await?;
    }
    let stopping = store.clone();
    let zone = store.zone().clone();
    let state = WebState::new(store.clone(), zone, mode, Arc::new(clock::now));
    let mut state = state.behind(&options.proxies);
    if let Some(sign_on) = sign_on {
        state = state.with_sign_on(sign_on);
    }
    println!(
        "Open http://{} in a browser. Ctrl-C stops the server.",
        listener.local_addr()?
    );
    let routes = web::router(state).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, routes)
        .with_graceful_shutdown(async move {
            let _ = tokio::signal::ctrl_c().await;
            // Open boards would else keep the server waiting.
            stopping.end_changes();
        })
        .await?;
    store.close().await;
    Ok(ExitCode::SUCCESS)
}
