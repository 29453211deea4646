//! Whose account a person of the provider is bound to, and who is bound to none.

use domain::people::Role;
use domain::people::account::AccountState;
use domain::people::sign_on::{OutsideIdentity, UNBOUND_MAX};
use domain::time::Instant;
use reqwest::Method;
use store::account::{AccountChange, Secret, Unbound};
use tests::each_database;
use tests::provider::Provider;
use tests::visitor::Visitor;
use web::Mode;

use super::super::people::{self, OTHER, PASSWORD, signed_in};
use super::super::sample::{Served, now};
use super::{COOKIE, begun, bind, is_refused, refused, register, trusting, who};

/// `OpenID` Connect Core 1.0, section 3.1.2, and RFC 7636: the provider of the tests takes nothing
/// less. ASVS 10.5.2: the person is known by issuer and subject, whatever they are called.
async fn who_is_bound_is_signed_on_without_a_password(url: &str) {
    let (served, provider) = register(url, &[Role::Planner, Role::Controller]).await;
    bind(&served, &provider, "planner").await;
    let (visitor, cookies) = Visitor::over_https(&served.server);
    let page = visitor.get("/sign-in").await;
    assert_eq!(page.text("#sign-on"), "Sign in through 127.0.0.1");
    assert_eq!(page.attribute("#sign-on", "href"), Some("/sign-on"));
    provider.say(|says| says.name = Some("controller".to_owned()));
    assert_eq!(visitor.get("/sign-on").await.path(), "/");
    assert_eq!(who(&visitor).await.as_deref(), Some("planner"));
    let page = visitor.get("/my-account").await;
    let from = page.text("#sessions td:nth-child(3)");
    assert_eq!(from, "127.0.0.1, through single sign-on");
    let changes = served
        .store
        .changes_of_account(&"planner".parse().unwrap())
        .await
        .unwrap();
    assert_eq!(
        changes[0].what,
        "signed in through single sign-on from 127.0.0.1"
    );

    let (name, value) = begun(&cookies);
    let sent = format!("{name}={value}; HttpOnly; SameSite=Lax; Secure; Path=/");
    assert!(cookies.sent().contains(&sent), "{:?}", cookies.sent());
    assert!(
        !cookies.kept().contains_key(COOKIE),
        "it is of no use any more"
    );
    assert!(
        !provider.last_back().contains(&value),
        "nor does it stand in an address"
    );
    let out = page.form(".person form");
    visitor.submit(&out).await;
    assert_eq!(who(&visitor).await, None);
}

/// A person who never had a password of their own need not change the one-time password that the
/// account was made with; who signs in with it must.
async fn a_one_time_password_does_not_stand_in_the_way(url: &str) {
    let (served, provider) = register(url, &[Role::Planner]).await;
    bind(&served, &provider, "planner").await;
    let (account, by) = ("planner".parse().unwrap(), "test".parse().unwrap());
    let hash = web::password::hash(OTHER.to_owned()).await.unwrap();
    let until = "2026-11-30T00:00:00Z".parse().unwrap();
    let change = AccountChange::Secret(Secret::OneTime(hash, until));
    served
        .store
        .change_account(&account, &change, (&by, now()))
        .await
        .unwrap();
    let (visitor, _) = Visitor::over_https(&served.server);
    visitor.get("/sign-on").await;
    assert_eq!(visitor.get("/cars").await.path(), "/cars");
    let (other, _) = signed_in(&served, "planner", OTHER).await;
    assert_eq!(other.get("/cars").await.path(), "/my-account");
}

async fn whom_the_provider_knows_and_nobody_bound_is_told_so_and_bound_by_an_administrator(
    url: &str,
) {
    let roles = [Role::Administrator, Role::Planner, Role::Auditor];
    let (served, provider) = register(url, &roles).await;
    provider.say(|says| says.name = Some("R. Marsh <planner>".to_owned()));
    let (marsh, _) = Visitor::over_https(&served.server);
    let page = marsh.get("/sign-on").await;
    assert!(is_refused(&page), "{}", page.body());
    assert_eq!(page.text("#subject"), "248289761001");
    assert_eq!(page.fact("It calls you"), "R. Marsh <planner>");
    assert_eq!(who(&marsh).await, None);
    assert_eq!(
        served.store.accounts().await.unwrap().len(),
        3,
        "no account is made of it"
    );
    assert!(refused(&served).await[0].ends_with("is bound to no account"));

    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let list = keeper.get("/accounts").await;
    assert_eq!(
        list.texts("#unbound-people .called"),
        ["R. Marsh <planner>"]
    );
    let form = list.form("#unbound-people form");
    let unknown = keeper.submit(&form.clone().fill("account", "nobody")).await;
    assert_eq!(unknown.status(), 422);
    assert_eq!(unknown.count("#wrong-account"), 1);
    // Nobody gives their own account another way in.
    let own = keeper
        .submit(&form.clone().fill("account", "administrator"))
        .await;
    assert_eq!(own.status(), 403);
    nobody_else_binds(&served, &provider).await;

    let form = form.fill("account", "planner");
    let bound = keeper.submit(&form).await;
    assert_eq!(bound.path(), "/accounts/planner");
    assert_eq!(bound.count("#bound-people tbody tr"), 1);
    assert_eq!(
        keeper.submit(&form).await.status(),
        404,
        "two do it at once"
    );
    let another = form.clone().fill("account", "auditor");
    let status = keeper.submit(&another).await.status();
    assert_eq!(status, 404, "one person has one account");
    assert_eq!(keeper.get("/accounts").await.count("#unbound-people"), 0);
    marsh.get("/sign-on").await;
    assert_eq!(who(&marsh).await.as_deref(), Some("planner"));

    let unbind = bound.form("#bound-people form");
    let page = keeper.submit(&unbind).await;
    assert_eq!(page.count("#bound-people"), 0);
    assert_eq!(who(&marsh).await, None, "what it had opened is closed");
    assert!(is_refused(&marsh.get("/sign-on").await));
    let changes = page.texts("table.long td:nth-child(3)");
    let issuer = provider.issuer();
    assert_eq!(
        changes[0],
        format!("no longer bound to 248289761001 at {issuer}")
    );
    assert!(changes.contains(&format!(
        "bound to 248289761001 at {issuer}, called “R. Marsh <planner>”"
    )));
}

/// Nobody but an administrator.
async fn nobody_else_binds(served: &Served, provider: &Provider) {
    let (planner, _) = signed_in(served, "planner", PASSWORD).await;
    let token = planner.get("/my-account").await.form("#everywhere");
    let token = token.values("form_token")[0].to_owned();
    let own = planner.request(Method::POST, "/sign-on/bind").form(&[
        ("form_token", token.as_str()),
        ("issuer", provider.issuer()),
        ("subject", "248289761001"),
        ("account", "planner"),
    ]);
    assert_eq!(planner.send(own).await.status(), 403);
}

/// ASVS 6.8.1: the same name at another provider is another person.
async fn an_account_out_of_use_and_a_namesake_elsewhere_are_not_signed_on(url: &str) {
    let (served, provider) = register(url, &[Role::Planner, Role::Auditor]).await;
    let (account, by) = ("planner".parse().unwrap(), "test".parse().unwrap());
    bind(&served, &provider, "planner").await;
    let out = AccountChange::State(AccountState::Disabled);
    served
        .store
        .change_account(&account, &out, (&by, now()))
        .await
        .unwrap();
    let (visitor, _) = Visitor::over_https(&served.server);
    let page = visitor.get("/sign-on").await;
    assert!(is_refused(&page) && page.text("p.refusal").contains("out of use"));
    assert_eq!(refused(&served).await[0], "the account is out of use");
    let into = AccountChange::State(AccountState::Active);
    served
        .store
        .change_account(&account, &into, (&by, now()))
        .await
        .unwrap();

    let other = Provider::start(now()).await;
    let elsewhere = Served::with(url, Mode::Register, trusting(&other)).await;
    let (visitor, _) = Visitor::over_https(&elsewhere.server);
    let page = visitor.get("/sign-on").await;
    assert!(is_refused(&page) && page.count("#subject") == 1);
}

async fn of_those_without_account_the_latest_are_kept(url: &str) {
    let served = Served::of(url, Mode::Register).await;
    let last = UNBOUND_MAX + 10;
    for number in 0..=last {
        let seconds = i64::try_from(number).unwrap();
        let seen_at = Instant::from_microseconds(now().microseconds() + seconds * 1_000_000);
        let unbound = Unbound {
            identity: OutsideIdentity::new("https://id.example", &number.to_string()).unwrap(),
            called: String::new(),
            seen_at: seen_at.unwrap(),
            client: "192.0.2.5".to_owned(),
        };
        served.store.note_unbound(&unbound).await.unwrap();
    }
    let kept = served.store.unbound().await.unwrap();
    assert_eq!(kept.len(), UNBOUND_MAX);
    assert_eq!(kept[0].identity.subject(), last.to_string());
}

async fn without_single_sign_on_nothing_is_shown_of_it(url: &str) {
    let served = people::register(url, &[Role::Administrator]).await;
    let (visitor, _) = signed_in(&served, "administrator", PASSWORD).await;
    assert_eq!(visitor.get("/sign-in").await.count("#sign-on"), 0);
    assert_eq!(visitor.get("/accounts").await.count("#unbound"), 0);
    for path in ["/sign-on", "/sign-on/back?state=x&code=x"] {
        assert_eq!(visitor.get(path).await.status(), 404, "{path}");
    }
}

each_database!(
    who_is_bound_is_signed_on_without_a_password,
    a_one_time_password_does_not_stand_in_the_way,
    whom_the_provider_knows_and_nobody_bound_is_told_so_and_bound_by_an_administrator,
    an_account_out_of_use_and_a_namesake_elsewhere_are_not_signed_on,
    of_those_without_account_the_latest_are_kept,
    without_single_sign_on_nothing_is_shown_of_it,
);
