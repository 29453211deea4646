//! Who signs in, stays signed in, and keeps accounts. Items of OWASP ASVS 5.0.0 stand beside the
//! tests.

use domain::people::Role;
use domain::people::roles::Roles;
use reqwest::Method;
use store::account::{Made, NewAccount, Secret};
use tests::each_database;
use tests::page::Page;
use tests::visitor::{Cookies, Visitor};
use web::{Mode, password};

use super::sample::{Served, now};

pub(crate) const PASSWORD: &str = "quail lantern over seven mud";
pub(crate) const OTHER: &str = "otter ledger beyond nine fog";
const COOKIE: &str = "__Host-brake_register";

/// A register as a railway runs it, with accounts of these roles, named after them.
pub(crate) async fn register(url: &str, roles: &[Role]) -> Served {
    let served = Served::of(url, Mode::Register).await;
    make_accounts(&served, roles).await;
    served
}

/// Makes accounts of these roles, named after them, all with one password.
pub(crate) async fn make_accounts(served: &Served, roles: &[Role]) {
    let hash = password::hash(PASSWORD.to_owned()).await.unwrap();
    for role in roles {
        let account = NewAccount {
            name: role.name().parse().unwrap(),
            roles: Roles::one(*role),
            secret: Secret::Own(hash.clone()),
        };
        let by = "test".parse().unwrap();
        let made = served.store.make_account(&account, (&by, now())).await;
        assert_eq!(made.unwrap(), Made::Now);
    }
}

async fn sign_in(visitor: &Visitor, name: &str, password: &str) -> Page {
    let form = visitor.get("/sign-in").await.form("main form.fields");
    visitor
        .submit(&form.fill("name", name).fill("password", password))
        .await
}

/// Somebody whose browser is signed in, with the cookies of it.
pub(crate) async fn signed_in(served: &Served, name: &str, password: &str) -> (Visitor, Cookies) {
    let (visitor, cookies) = Visitor::over_https(&served.server);
    let page = sign_in(&visitor, name, password).await;
    assert_eq!(page.status(), 200, "{}", page.body());
    assert!(is_signed_in(&visitor).await);
    (visitor, cookies)
}

async fn is_signed_in(visitor: &Visitor) -> bool {
    visitor.get("/my-account").await.path() == "/my-account"
}

fn refused(page: &Page) -> bool {
    page.path() == "/sign-in" && page.count("p.refusal") == 1
}

/// 6.4.1: what somebody else made is random, short-lived and changed at the first use; 6.2.2,
/// 6.2.3: the owner changes it, knowing the one before.
async fn a_one_time_password_is_told_once_and_changed_before_anything_else(url: &str) {
    let served = register(url, &[Role::Administrator]).await;
    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let form = keeper
        .get("/accounts")
        .await
        .form("form[action=\"/accounts\"]");
    let form = form.fill("name", "R. Marsh/2").fill("role_planner", "on");
    let told = keeper.submit(&form).await;
    let one_time = told.text("#one-time");
    for path in ["/accounts", "/accounts/R.%20Marsh%2F2"] {
        let page = keeper.get(path).await;
        assert!(page.body().contains("R. Marsh/2") && !page.body().contains(&one_time));
    }
    let twice = keeper.submit(&form).await;
    assert_eq!(twice.status(), 422, "an account is not made twice");

    let (marsh, _) = signed_in(&served, "R. Marsh/2", &one_time).await;
    assert_eq!(marsh.get("/cars").await.path(), "/my-account");
    let page = marsh.get("/my-account").await;
    let elsewhere = marsh.request(Method::POST, "/trains").form(&[(
        "form_token",
        page.form("form.fields").values("form_token")[0],
    )]);
    assert_eq!(marsh.send(elsewhere).await.status(), 403);
    let form = page.form("form[action=\"/my-account/password\"]");
    for (current, new, again) in [
        ("wrong one, this", PASSWORD, PASSWORD),
        (&one_time, "password1234", "password1234"),
        (&one_time, PASSWORD, OTHER),
        (&one_time, &one_time, &one_time),
    ] {
        let form = form
            .clone()
            .fill("current", current)
            .fill("new", new)
            .fill("again", again);
        assert_eq!(
            marsh.submit(&form).await.status(),
            422,
            "{current} {new} {again}"
        );
    }
    let form = form
        .fill("current", &one_time)
        .fill("new", PASSWORD)
        .fill("again", PASSWORD);
    assert_eq!(marsh.submit(&form).await.status(), 200);
    assert_eq!(marsh.get("/cars").await.path(), "/cars");
    let (fresh, _) = Visitor::over_https(&served.server);
    assert!(refused(&sign_in(&fresh, "R. Marsh/2", &one_time).await));
    signed_in(&served, "R. Marsh/2", PASSWORD).await;
}

/// 6.4.1.
async fn a_one_time_password_expires(url: &str) {
    let served = register(url, &[Role::Administrator, Role::Planner]).await;
    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let page = keeper.get("/accounts/planner").await;
    let told = keeper
        .submit(&page.form("form[action$=\"/password\"]"))
        .await;
    let one_time = told.text("#one-time");
    let (planner, _) = Visitor::over_https(&served.server);
    assert!(refused(&sign_in(&planner, "planner", PASSWORD).await));
    served.pass(7 * 86_400 + 1);
    assert!(refused(&sign_in(&planner, "planner", &one_time).await));
}

/// 8.2.1, 8.3.1, 8.3.2 (changes of rights hold at once), 7.4.2 (an account out of use has no
/// session).
async fn roles_and_state_hold_at_once_and_nobody_changes_their_own(url: &str) {
    let served = register(url, &[Role::Administrator, Role::Planner]).await;
    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let (planner, _) = signed_in(&served, "planner", PASSWORD).await;
    assert_eq!(planner.get("/accounts").await.status(), 403);
    let page = keeper.get("/accounts/planner").await;
    let both = page
        .form("form[action$=\"/roles\"]")
        .fill("role_administrator", "on");
    let apart = keeper.submit(&both).await;
    assert_eq!(apart.status(), 422);
    assert_eq!(apart.count("#wrong-roles"), 1);
    let fields: Vec<_> = both
        .fields()
        .iter()
        .filter(|(name, _)| name != "role_planner")
        .collect();
    let request = keeper
        .request(Method::POST, "/accounts/planner/roles")
        .form(&fields);
    assert_eq!(keeper.send(request).await.status(), 200);
    assert_eq!(planner.get("/accounts").await.status(), 200);
    let out = page.form("form[action$=\"/state\"]");
    assert_eq!(keeper.submit(&out).await.status(), 200);
    assert!(!is_signed_in(&planner).await);
    assert!(refused(&sign_in(&planner, "planner", PASSWORD).await));
    let into = keeper
        .get("/accounts/planner")
        .await
        .form("form[action$=\"/state\"]");
    keeper.submit(&into).await;
    let (planner, _) = signed_in(&served, "planner", PASSWORD).await;

    let own = planner.get("/accounts/planner").await;
    assert_eq!(own.count("form[action^=\"/accounts\"]"), 0);
    let token = planner.get("/my-account").await;
    let token = token.form("#everywhere");
    let token = token.values("form_token")[0];
    for (path, field) in [
        ("roles", "role_auditor"),
        ("state", "state"),
        ("password", "x"),
    ] {
        let request = planner.request(Method::POST, &format!("/accounts/planner/{path}"));
        let request = request.form(&[("form_token", token), (field, "disabled")]);
        assert_eq!(planner.send(request).await.status(), 403, "{path}");
    }
    let changes = keeper
        .get("/accounts/planner")
        .await
        .texts("table.long td:nth-child(3)");
    assert_eq!(
        changes[..4],
        [
            "signed in from 127.0.0.1",
            "taken into use",
            "taken out of use",
            "given the role administrator"
        ]
    );
}

/// 7.1.1, 7.3.1 (idle), 7.3.2 (in all), 7.2.4 (a new token at sign-in), 7.4.1 (none after).
async fn a_session_ends_by_idleness_by_age_and_by_signing_out(url: &str) {
    const HOUR: i64 = 3_600;
    let served = register(url, &[Role::Planner]).await;
    let (idle, _) = signed_in(&served, "planner", PASSWORD).await;
    served.pass(2 * HOUR - 60);
    assert!(is_signed_in(&idle).await);
    served.pass(2 * HOUR - 60);
    assert!(is_signed_in(&idle).await, "use was noted");
    served.pass(2 * HOUR);
    assert!(!is_signed_in(&idle).await);

    let (old, _) = signed_in(&served, "planner", PASSWORD).await;
    for _ in 0..11 {
        served.pass(HOUR);
        assert!(is_signed_in(&old).await);
    }
    served.pass(HOUR);
    assert!(!is_signed_in(&old).await);

    let (visitor, cookies) = signed_in(&served, "planner", PASSWORD).await;
    let first = cookies.kept();
    sign_in(&visitor, "planner", PASSWORD).await;
    let second = cookies.kept();
    assert_ne!(first[COOKIE], second[COOKIE]);
    cookies.put(first);
    assert!(!is_signed_in(&visitor).await, "the token before is dead");
    cookies.put(second.clone());
    let out = visitor.get("/my-account").await.form(".person form");
    visitor.submit(&out).await;
    assert!(cookies.kept().is_empty());
    cookies.put(second);
    assert!(!is_signed_in(&visitor).await, "the server forgot it");
}

/// 7.4.3, 7.5.2: other sessions are seen and ended, also by a change of the password.
async fn one_sees_ones_browsers_and_signs_them_out(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (here, _) = signed_in(&served, "planner", PASSWORD).await;
    let (there, _) = signed_in(&served, "planner", PASSWORD).await;
    let (third, _) = signed_in(&served, "planner", PASSWORD).await;
    let page = here.get("/my-account").await;
    assert_eq!(page.count("#sessions tbody tr"), 3);
    assert_eq!(page.count("#sessions form"), 2);
    assert!(
        page.texts("#sessions td:nth-child(3)")
            .iter()
            .all(|client| client == "127.0.0.1")
    );
    let form = page.form("form[action=\"/my-account/password\"]");
    let form = form
        .fill("current", PASSWORD)
        .fill("new", OTHER)
        .fill("again", OTHER);
    here.submit(&form).await;
    assert!(is_signed_in(&here).await && !is_signed_in(&there).await);
    assert!(!is_signed_in(&third).await);

    let (there, _) = signed_in(&served, "planner", OTHER).await;
    let one = here.get("/my-account").await.form("#sessions form");
    here.submit(&one).await;
    assert!(is_signed_in(&here).await && !is_signed_in(&there).await);
    let (there, _) = signed_in(&served, "planner", OTHER).await;
    let everywhere = here.get("/my-account").await.form("#everywhere");
    here.submit(&everywhere).await;
    assert!(!is_signed_in(&here).await && !is_signed_in(&there).await);
}

/// 3.3.1, 3.3.2, 3.3.4 and 7.2.3: how the cookie is sent; 14.2.1: nothing of it in an address.
async fn the_cookie_is_for_this_host_over_https_and_for_no_script(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (_, cookies) = signed_in(&served, "planner", PASSWORD).await;
    let sent = cookies.sent().pop().unwrap();
    let value = &cookies.kept()[COOKIE];
    assert_eq!(
        sent,
        format!("{COOKIE}={value}; HttpOnly; SameSite=Lax; Secure; Path=/")
    );
    assert!(64 <= value.len());
}

/// 6.3.1: guessing is slowed, and nobody is locked out for good; by account, whether or not it
/// exists, and for all servers together.
async fn wrong_passwords_make_the_next_sign_in_wait_ever_longer(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let second = Served::of(url, Mode::Register).await;
    let (one, _) = Visitor::over_https(&served.server);
    let (other, _) = Visitor::over_https(&second.server);
    for name in ["planner", "nobody"] {
        for visitor in [&one, &other, &one, &other, &one, &other] {
            assert!(refused(&sign_in(visitor, name, OTHER).await), "{name}");
        }
        for visitor in [&one, &other] {
            let waiting = sign_in(visitor, name, PASSWORD).await;
            assert_eq!(
                (waiting.status(), waiting.header("retry-after")),
                (429, Some("1"))
            );
        }
    }
    served.pass(1);
    assert!(refused(&sign_in(&one, "planner", OTHER).await));
    served.pass(1);
    assert_eq!(sign_in(&one, "planner", PASSWORD).await.status(), 429);
    served.pass(1);
    assert_eq!(sign_in(&one, "planner", PASSWORD).await.path(), "/");
    assert!(
        refused(&sign_in(&one, "planner", OTHER).await),
        "it begins anew"
    );
}

/// 6.3.1: by client address, whatever the names.
async fn many_names_from_one_address_wait_too(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (visitor, _) = Visitor::over_https(&served.server);
    for guess in 0..51 {
        // No name at all, which costs no hash to prove wrong.
        assert!(refused(
            &sign_in(&visitor, &format!("name {guess}"), &"x".repeat(600)).await
        ));
    }
    assert_eq!(sign_in(&visitor, "planner", PASSWORD).await.status(), 429);
    served.pass(60);
    assert_eq!(sign_in(&visitor, "planner", PASSWORD).await.path(), "/");
}

/// 6.2.7 (password managers), 6.2.6 (hidden), 6.3.8 (names are not given away).
async fn what_is_wrong_with_a_sign_in_is_not_told(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (visitor, _) = Visitor::over_https(&served.server);
    let mut told = Vec::new();
    for (name, password) in [
        ("planner", OTHER),
        ("nobody", OTHER),
        ("", ""),
        ("planner", ""),
    ] {
        told.push(sign_in(&visitor, name, password).await.body().to_owned());
    }
    let first = told[0].split("<footer>").next().unwrap().to_owned();
    assert!(told.iter().all(|body| body.starts_with(&first)));
    let page = visitor.get("/sign-in").await;
    assert_eq!(page.attribute("#password", "type"), Some("password"));
    assert_eq!(
        page.attribute("#password", "autocomplete"),
        Some("current-password")
    );
}

/// 3.4.1 to 3.4.6 and 14.3.2: on pages, files, answers to programs and errors alike.
async fn every_answer_carries_the_protecting_headers(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (visitor, _) = Visitor::over_https(&served.server);
    for path in ["/sign-in", "/api/v1/fleets", "/nothing", "/static/nothing"] {
        let page = visitor.get(path).await;
        let policy = page.header("content-security-policy").unwrap_or_default();
        for part in [
            "default-src 'none'",
            "object-src 'none'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        ] {
            assert!(policy.contains(part), "{path}: {policy}");
        }
        assert_eq!(
            page.header("x-content-type-options"),
            Some("nosniff"),
            "{path}"
        );
        assert_eq!(
            page.header("referrer-policy"),
            Some("same-origin"),
            "{path}"
        );
        assert_eq!(page.header("cache-control"), Some("no-store"), "{path}");
        assert_eq!(page.header("access-control-allow-origin"), None, "{path}");
        let https = page.header("strict-transport-security").unwrap_or_default();
        let seconds = https
            .strip_prefix("max-age=")
            .and_then(|rest| rest.split(';').next());
        let year = 365 * 86_400;
        assert!(year <= seconds.unwrap().parse().unwrap(), "{path}: {https}");
        assert!(https.ends_with("includeSubDomains"), "{path}");
    }
}

each_database!(
    every_answer_carries_the_protecting_headers,
    a_one_time_password_is_told_once_and_changed_before_anything_else,
    a_one_time_password_expires,
    roles_and_state_hold_at_once_and_nobody_changes_their_own,
    a_session_ends_by_idleness_by_age_and_by_signing_out,
    one_sees_ones_browsers_and_signs_them_out,
    the_cookie_is_for_this_host_over_https_and_for_no_script,
    wrong_passwords_make_the_next_sign_in_wait_ever_longer,
    many_names_from_one_address_wait_too,
    what_is_wrong_with_a_sign_in_is_not_told,
);
