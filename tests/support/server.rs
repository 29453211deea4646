//! A server on a free port of the loopback.

use std::net::{Ipv4Addr, SocketAddr};

use axum::Router;
use tokio::net::TcpListener;
use tokio::task::JoinHandle;

/// Answers until this value is dropped.
#[derive(Debug)]
pub struct RunningServer {
    base: String,
    task: JoinHandle<()>,
}

impl RunningServer {
    /// Serves the routes in the background of the test's runtime.
    pub async fn start(routes: Router) -> Self {
        Self::start_knowing(|_| routes).await
    }

    /// The same with routes that know where they are served: at scheme, host and port.
    pub async fn start_knowing(routes: impl FnOnce(&str) -> Router) -> Self {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0))
            .await
            .expect("the loopback has a free port");
        let port = listener
            .local_addr()
            .expect("a bound listener has an address")
            .port();
        let base = format!("http://127.0.0.1:{port}");
        let routes = routes(&base);
        let task = tokio::spawn(async move {
            let routes = routes.into_make_service_with_connect_info::<SocketAddr>();
            axum::serve(listener, routes)
                .await
                .expect("the server runs until it is dropped");
        });
        Self { base, task }
    }

    /// Scheme, host and port, without a closing slash.
    pub fn base(&self) -> &str {
        &self.base
    }
}

impl Drop for RunningServer {
    fn drop(&mut self) {
        self.task.abort();
    }
}
