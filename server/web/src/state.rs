//! What every handler may use.

use crate::sign_on::SignOn;
use domain::decision::answer::When;
use domain::time::{Day, Instant, Zone};
use std::net::IpAddr;
use std::sync::Arc;
use store::Store;

/// Tells the time. The server's own clock, or a fixed one in tests.
pub type Clock = Arc<dyn Fn() -> Instant + Send + Sync>;

/// What the server is run for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// The invented fleet: accounts without passwords, only on loopback, and every page says so.
    Demo,
    /// A real register: accounts with passwords.
    Register,
}

/// What every handler may use. Cheap to clone.
#[derive(Clone)]
pub struct WebState {
    /// The register.
    pub store: Store,
    /// The depot's time zone.
    pub zone: Zone,
    /// Demo or not.
    pub mode: Mode,
    /// The time.
    pub clock: Clock,
    /// The proxies that are believed when they say from where a request comes.
    pub proxies: Arc<[IpAddr]>,
    /// Single sign-on, where there is one.
    pub sign_on: Option<Arc<SignOn>>,
}

impl WebState {
    /// A server of a register that is not behind a proxy.
    pub fn new(store: Store, zone: Zone, mode: Mode, clock: Clock) -> Self {
        Self {
            store,
            zone,
            mode,
            clock,
            proxies: Arc::default(),
            sign_on: None,
        }
    }

    /// Behind proxies that say from where a request comes.
    #[must_use]
    pub fn behind(mut self, proxies: &[IpAddr]) -> Self {
        self.proxies = proxies.into();
        self
    }

    /// With single sign-on.
    #[must_use]
    pub fn with_sign_on(mut self, sign_on: SignOn) -> Self {
        self.sign_on = Some(Arc::new(sign_on));
        self
    }

    /// The time now.
    pub fn now(&self) -> Instant {
        (self.clock)()
    }

    /// The calendar date now, at the depot.
    pub fn today(&self) -> Day {
        self.zone.day_of(self.now())
    }

    /// The time now with its date, by which a train is judged.
    pub fn when(&self) -> When {
        let now = self.now();
        (now, self.zone.day_of(now))
    }
}
