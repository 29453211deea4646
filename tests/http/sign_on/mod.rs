//! Single sign-on against a small provider of the tests' own. Sections of the standards stand
//! beside what they demand, and items of OWASP ASVS 5.0.0 too.

mod back;
mod bound;
mod proven;

use domain::people::Role;
use domain::people::sign_on::OutsideIdentity;
use store::account::{Binding, Unbound};
use tests::page::Page;
use tests::provider::{CLIENT, Provider, SECRET};
use tests::visitor::{Cookies, Visitor};
use web::{Mode, SignOn, SignOnSettings, WebState};

use super::people::{PASSWORD, make_accounts, signed_in};
use super::sample::{Served, now};

const COOKIE: &str = "__Host-brake_register_sign_on";

/// A server of a register, at that address, that trusts a provider.
pub(crate) fn trusting(provider: &Provider) -> impl FnOnce(WebState, &str) -> WebState {
    let settings = SignOnSettings {
        issuer: provider.issuer().to_owned(),
        client: CLIENT.to_owned(),
        secret: SECRET.to_owned(),
        address: String::new(),
    };
    |state, base| {
        let address = base.to_owned();
        let sign_on = SignOn::new(SignOnSettings {
            address,
            ..settings
        });
        state.with_sign_on(sign_on.unwrap())
    }
}

/// A register with accounts of these roles, and its provider.
async fn register(url: &str, roles: &[Role]) -> (Served, Provider) {
    let provider = Provider::start(now()).await;
    let served = Served::with(url, Mode::Register, trusting(&provider)).await;
    make_accounts(&served, roles).await;
    (served, provider)
}

/// The person of the provider.
fn person(provider: &Provider) -> OutsideIdentity {
    OutsideIdentity::new(provider.issuer(), "248289761001").unwrap()
}

/// Binds the person of the provider to an account.
pub(crate) async fn bind(served: &Served, provider: &Provider, account: &str) {
    let unbound = Unbound {
        identity: person(provider),
        called: "R. Marsh".to_owned(),
        seen_at: now(),
        client: "127.0.0.1".to_owned(),
    };
    served.store.note_unbound(&unbound).await.unwrap();
    let (account, by) = (account.parse().unwrap(), "test".parse().unwrap());
    let bound = served
        .store
        .bind_identity(&unbound.identity, &account, (&by, now()))
        .await;
    assert_eq!(bound.unwrap(), Binding::Changed);
}

async fn who(visitor: &Visitor) -> Option<String> {
    let page = visitor.get("/my-account").await;
    (page.path() == "/my-account").then(|| page.text("h1"))
}

/// Why the last attempts were refused, the latest first.
async fn refused(served: &Served) -> Vec<String> {
    let (auditor, _) = signed_in(served, "auditor", PASSWORD).await;
    let page = auditor.get("/refused?kind=sign_in").await;
    page.texts("table.long tbody td:nth-child(4)")
}

fn is_refused(page: &Page) -> bool {
    page.status() == 403 && page.path().starts_with("/sign-on/back") && page.count("p.refusal") == 1
}

/// The cookie of the sign-on that was begun last.
fn begun(cookies: &Cookies) -> (String, String) {
    let sent = cookies.sent();
    let mut values = sent.iter().rev().filter_map(|sent| {
        let value = sent.strip_prefix(COOKIE)?.strip_prefix('=')?;
        Some(value.split(';').next()?.to_owned())
    });
    let value = values.find(|value| !value.is_empty());
    (COOKIE.to_owned(), value.unwrap())
}
