//! Which SQL statements a server sends for a request. Statements are the budget of a page: each
//! costs a hundred times what its template costs.

use std::collections::HashMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{LazyLock, Mutex, PoisonError};

use axum::Router;
use axum::extract::Request;
use axum::middleware::{self, Next};
use tracing::field::{Field, Visit};
use tracing::span::{Attributes, Id};
use tracing::{Event, Instrument, Subscriber};
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::{Context, SubscriberExt};
use tracing_subscriber::registry::LookupSpan;
use tracing_subscriber::{Layer, Registry};

/// Where the database driver writes what it has executed.
const DRIVER: &str = "sqlx::query";
/// The span around the requests of one watched server.
const WATCHED: &str = "watched";

/// What a pool asks a connection of PostgreSQL before it gives it out.
const ASKED_WHETHER_WELL: &str = "rollback";

static NEXT: AtomicU64 = AtomicU64::new(1);
static TAKEN: LazyLock<Mutex<HashMap<u64, Vec<String>>>> = LazyLock::new(Mutex::default);

/// The statements of one server. What a request hands to a task of its own, such as a write, is
/// not among them.
#[derive(Debug)]
pub struct Statements {
    server: u64,
}

impl Statements {
    /// Watches the requests to these routes from now on.
    pub fn watch(routes: Router) -> (Self, Router) {
        install();
        let server = NEXT.fetch_add(1, Ordering::Relaxed);
        let watched = move |request: Request, next: Next| {
            let span = tracing::info_span!(target: WATCHED, "request", server);
            next.run(request).instrument(span)
        };
        let routes = routes.layer(middleware::from_fn(watched));
        (Self { server }, routes)
    }

    /// The statements since the last time, in the order in which they ended.
    pub fn take(&self) -> Vec<String> {
        let mut taken = TAKEN.lock().unwrap_or_else(PoisonError::into_inner);
        taken.remove(&self.server).unwrap_or_default()
    }
}

/// Listens in the whole process; tests that watch nothing cost nothing more than before.
fn install() {
    static INSTALLED: LazyLock<()> = LazyLock::new(|| {
        let targets = Targets::new()
            .with_target(DRIVER, LevelFilter::DEBUG)
            .with_target(WATCHED, LevelFilter::INFO);
        let subscriber = Registry::default().with(Listener.with_filter(targets));
        tracing::subscriber::set_global_default(subscriber)
            .expect("no other subscriber is installed in the tests");
    });
    LazyLock::force(&INSTALLED);
}

struct Listener;

/// The server that a span belongs to.
struct Server(u64);

impl<S: Subscriber + for<'a> LookupSpan<'a>> Layer<S> for Listener {
    fn on_new_span(&self, attributes: &Attributes<'_>, id: &Id, context: Context<'_, S>) {
        let mut server = Number(None);
        attributes.record(&mut server);
        if let (Some(number), Some(span)) = (server.0, context.span(id)) {
            span.extensions_mut().insert(Server(number));
        }
    }

    fn on_event(&self, event: &Event<'_>, context: Context<'_, S>) {
        let mut spans = context.event_scope(event).into_iter().flatten();
        let server =
            spans.find_map(|span| span.extensions().get::<Server>().map(|server| server.0));
        if let Some(server) = server {
            let mut statement = Statement::default();
            event.record(&mut statement);
            let text = statement.text();
            // Opening a connection, and asking it whether it is well, is the pool's cost.
            if !text.starts_with("PRAGMA") && text != ASKED_WHETHER_WELL {
                let mut taken = TAKEN.lock().unwrap_or_else(PoisonError::into_inner);
                taken.entry(server).or_default().push(text);
            }
        }
    }
}

struct Number(Option<u64>);

impl Visit for Number {
    fn record_u64(&mut self, _: &Field, value: u64) {
        self.0 = Some(value);
    }

    fn record_debug(&mut self, _: &Field, _: &dyn std::fmt::Debug) {}
}

/// The driver writes the first words, and the whole where there is more.
#[derive(Default)]
struct Statement {
    first_words: String,
    whole: String,
}

impl Statement {
    fn text(self) -> String {
        let text = if self.whole.trim().is_empty() {
            self.first_words
        } else {
            self.whole
        };
        text.trim().to_owned()
    }
}

impl Visit for Statement {
    fn record_str(&mut self, field: &Field, value: &str) {
        match field.name() {
            "summary" => value.clone_into(&mut self.first_words),
            "db.statement" => value.clone_into(&mut self.whole),
            _ => {}
        }
    }

    fn record_debug(&mut self, _: &Field, _: &dyn std::fmt::Debug) {}
}
