//! Coming back from the provider: once, in one's own browser, or not at all.

use domain::people::Role;
use reqwest::Method;
use tests::each_database;
use tests::provider::Meets;
use tests::visitor::Visitor;
use web::Mode;

use super::super::people::{PASSWORD, signed_in};
use super::super::sample::Served;
use super::{begun, bind, is_refused, refused, register, trusting, who};

/// RFC 6749, section 10.12; ASVS 10.1.2, 10.2.1: nobody is signed in with what another began.
async fn what_comes_back_is_good_once_in_its_own_browser_for_ten_minutes(url: &str) {
    let (served, provider) = register(url, &[Role::Planner, Role::Auditor]).await;
    let (trust, first) = (trusting(&provider), served.server.base());
    let second = Served::with(url, Mode::Register, |state, _| trust(state, first)).await;
    bind(&served, &provider, "planner").await;
    provider.say(|says| says.meets = Meets::Page);
    let (mallory, _) = Visitor::over_https(&served.server);
    mallory.get("/sign-on").await;
    let back = provider.last_back();
    let (victim, cookies) = Visitor::over_https(&served.server);
    assert!(
        is_refused(&victim.get(&back).await),
        "nothing was begun there"
    );
    victim.get("/sign-on").await;
    assert!(
        is_refused(&victim.get(&back).await),
        "something else was begun there"
    );
    assert_eq!(who(&victim).await, None);
    let noted = refused(&served).await;
    assert!(
        noted[0].starts_with("the state was not sent from that browser"),
        "{}",
        noted[0]
    );
    assert_eq!(
        mallory.get(&back).await.path(),
        "/",
        "what others tried leaves it as it is"
    );

    // Begun at one server, come back to the other; and then again to either.
    victim.get("/sign-on").await;
    let (name, value) = begun(&cookies);
    let back = provider.last_back();
    let (elsewhere, kept) = Visitor::over_https(&second.server);
    kept.put([(name.clone(), value.clone())].into());
    assert_eq!(elsewhere.get(&back).await.path(), "/");
    assert_eq!(who(&elsewhere).await.as_deref(), Some("planner"));
    for (visitor, cookies) in [(&victim, &cookies), (&elsewhere, &kept)] {
        cookies.put([(name.clone(), value.clone())].into());
        let again = visitor.get(&back).await;
        assert!(is_refused(&again) && again.text("p.refusal").contains("has been used"));
    }

    victim.get("/sign-on").await;
    let back = provider.last_back();
    served.pass(600);
    assert!(
        is_refused(&victim.get(&back).await),
        "ten minutes have passed"
    );
    assert_eq!(who(&victim).await, None);
}

/// What the provider refuses, and what it never said (RFC 6749, sections 4.1.2.1 and 5.2).
async fn what_the_provider_does_not_say_signs_nobody_in(url: &str) {
    let (served, provider) = register(url, &[Role::Planner, Role::Auditor]).await;
    bind(&served, &provider, "planner").await;
    let (visitor, _) = Visitor::over_https(&served.server);
    provider.say(|says| says.meets = Meets::Refusal);
    assert!(is_refused(&visitor.get("/sign-on").await));
    assert_eq!(refused(&served).await[0], "the provider says access_denied");
    provider.say(|says| says.meets = Meets::Page);
    visitor.get("/sign-on").await;
    let back = provider.last_back();
    let state = back.split("state=").nth(1).unwrap().to_owned();
    let page = visitor
        .get(&format!("/sign-on/back?code=guessed&state={state}"))
        .await;
    assert!(is_refused(&page));
    assert!(refused(&served).await[0].contains("invalid_grant"));
    for query in [
        "",
        "?state=",
        "?code=x",
        "?state=%00&code=%F0%9F%9A%83",
        "?code=a&code=b",
    ] {
        let status = visitor.get(&format!("/sign-on/back{query}")).await.status();
        assert!([400, 403].contains(&status), "{query}: {status}");
    }
    // Another site cannot make a browser begin (ASVS 7.6.2).
    let request = visitor.request(Method::GET, "/sign-on");
    let request = request.header("sec-fetch-site", "cross-site");
    assert_eq!(visitor.send(request).await.status(), 403);
}

/// ASVS 10.5.3: metadata that name another provider are none.
async fn without_its_provider_the_register_serves_and_asks_again_at_the_next_sign_on(url: &str) {
    let (served, provider) = register(url, &[Role::Planner]).await;
    bind(&served, &provider, "planner").await;
    provider.say(|says| says.away = true);
    let (visitor, _) = Visitor::over_https(&served.server);
    let page = visitor.get("/sign-on").await;
    assert_eq!((page.status(), page.path()), (503, "/sign-on"));
    assert!(page.text("p.refusal").contains("does not answer"));
    let form = page.form("main form.fields");
    let form = form.fill("name", "planner").fill("password", PASSWORD);
    assert_eq!(
        visitor.submit(&form).await.path(),
        "/",
        "passwords are good"
    );

    let (visitor, _) = Visitor::over_https(&served.server);
    provider.say(|says| (says.away, says.meets) = (false, Meets::Page));
    visitor.get("/sign-on").await;
    provider.say(|says| says.away = true);
    let page = visitor.get(&provider.last_back()).await;
    assert_eq!(page.status(), 503, "it went away meanwhile");
    provider.say(|says| (says.away, says.meets) = (false, Meets::Nothing));
    assert_eq!(visitor.get("/sign-on").await.path(), "/");
    provider.say(|says| says.named = Some("https://id.example".to_owned()));
    assert_eq!(visitor.get("/sign-on").await.status(), 503);
    let gone = provider.issuer().to_owned();
    drop(provider);
    let page = visitor.get("/sign-on").await;
    assert_eq!(page.status(), 503, "nobody listens at {gone}");
}

/// ASVS 6.3.1.
async fn sign_ons_that_come_to_nothing_wait_and_passwords_do_not(url: &str) {
    let (served, provider) = register(url, &[Role::Planner]).await;
    bind(&served, &provider, "planner").await;
    let (visitor, _) = Visitor::over_https(&served.server);
    for _ in 0..3 {
        assert_eq!(
            visitor.get("/sign-on").await.path(),
            "/",
            "what succeeds is not counted"
        );
    }
    for _ in 0..51 {
        assert!(is_refused(
            &visitor.get("/sign-on/back?state=x&code=x").await
        ));
    }
    for path in ["/sign-on", "/sign-on/back?state=x&code=x"] {
        assert_eq!(visitor.get(path).await.status(), 429, "{path}");
    }
    signed_in(&served, "planner", PASSWORD).await;
    served.pass(60);
    assert_eq!(visitor.get("/sign-on").await.path(), "/");
}

each_database!(
    what_comes_back_is_good_once_in_its_own_browser_for_ten_minutes,
    what_the_provider_does_not_say_signs_nobody_in,
    without_its_provider_the_register_serves_and_asks_again_at_the_next_sign_on,
    sign_ons_that_come_to_nothing_wait_and_passwords_do_not,
);
