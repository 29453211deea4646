//! What an ID token must prove.

use domain::people::Role;
use domain::time::Instant;
use openidconnect::{PkceCodeChallenge, PkceCodeVerifier};
use tests::each_database;
use tests::provider::{Says, Signed};
use tests::visitor::Visitor;

use super::super::sample::now;
use super::{bind, is_refused, refused, register};

/// What is wrong, by its item, how the provider is made to say so, and what is noted of it.
type Case = (&'static str, fn(&mut Says), &'static str);

/// Items of `OpenID` Connect Core 1.0, section 3.1.3.7.
const CASES: [Case; 11] = [
    (
        "2: the issuer is another",
        |says| says.issuer = Some("https://id.example".into()),
        "expected `http://127.0.0.1",
    ),
    (
        "3: the audience is another",
        |says| says.audience = vec!["due-list".into()],
        "must contain `brake-register`",
    ),
    (
        "3: there is an audience that is not trusted",
        |says| says.audience.push("due-list".into()),
        "`due-list` is not a trusted audience",
    ),
    (
        "5: it was issued to another",
        |says| says.party = Some("due-list".into()),
        "issued to another client",
    ),
    (
        "6: somebody else signed it",
        |says| says.signed = Signed::BySomebodyElse,
        "ignature",
    ),
    (
        "6: nobody signed it",
        |says| says.signed = Signed::Not,
        "not proven",
    ),
    (
        "7: signed by an algorithm that the metadata do not name",
        |says| says.algorithms = vec!["RS256"],
        "algorithm `EdDSA` is not one of",
    ),
    (
        "7: nor is the secret of the client a signature of the provider",
        |says| {
            says.signed = Signed::WithTheSecret;
            says.algorithms = vec!["EdDSA", "HS256", "none"];
        },
        "algorithm `HS256` is not one of: EdDSA",
    ),
    ("9: it has expired", |says| says.expires = now(), "expired"),
    (
        "11: the nonce is another",
        |says| says.nonce = Some("another".into()),
        "nonce mismatch",
    ),
    (
        "11: there is no nonce",
        |says| says.nonce = Some(String::new()),
        "missing nonce",
    ),
];

/// RFC 7636, appendix B: the proof key of the example and what is sent of it.
#[test]
fn the_proof_key_is_hashed_as_in_the_example_of_the_standard() {
    let key = PkceCodeVerifier::new("dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk".to_owned());
    let sent = PkceCodeChallenge::from_code_verifier_sha256(&key);
    assert_eq!(sent.as_str(), "E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM");
}

/// `OpenID` Connect Core 1.0, section 3.1.3.7, by its items; ASVS 6.8.2, 10.5.1, 10.5.4.
async fn an_id_token_that_is_not_proven_signs_nobody_in(url: &str) {
    let (served, provider) = register(url, &[Role::Planner, Role::Auditor]).await;
    bind(&served, &provider, "planner").await;
    let mut right = None;
    provider.say(|says| right = Some(says.clone()));
    let right = right.unwrap();
    let (visitor, cookies) = Visitor::over_https(&served.server);
    for (what, change, why) in CASES {
        provider.say(|says| {
            *says = right.clone();
            change(says);
        });
        let page = visitor.get("/sign-on").await;
        assert!(is_refused(&page), "{what}: {}", page.body());
        assert!(
            page.text("p.refusal").contains("cannot be proven"),
            "{what}"
        );
        assert!(cookies.kept().is_empty(), "{what}");
        let noted = refused(&served).await;
        assert!(noted[0].contains(why), "{what}: {}", noted[0]);
    }
    // Item 9 again: a moment before, it is still good.
    provider.say(|says| {
        *says = right;
        says.expires = Instant::from_microseconds(now().microseconds() + 1_000_000).unwrap();
    });
    assert_eq!(visitor.get("/sign-on").await.path(), "/");
}

each_database!(an_id_token_that_is_not_proven_signs_nobody_in);
