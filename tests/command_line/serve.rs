//! `register serve`: the demo, and a port that is taken.

use super::program::{Place, seed_data};
use std::net::{Ipv4Addr, TcpListener};

#[test]
fn a_port_that_is_taken_is_named_and_nothing_is_begun() {
    let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let place = Place::fresh();
    let refused = place.run(&["serve", "--listen", &address]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    let said = format!("Not done: cannot listen on {address}; give another address with --listen");
    assert!(refused.err.starts_with(&said), "{refused:?}");
    assert!(!place.path("data").exists());
}

#[test]
fn the_demo_is_served_on_this_machine_only() {
    let place = Place::fresh();
    let refused = place.run(&["serve", "--listen", "0.0.0.0:0"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(
        refused.err.contains("is not a loopback address"),
        "{refused:?}"
    );
    assert!(!place.path("data").exists());
}

#[test]
fn a_demo_without_its_fleet_says_so() {
    let place = Place::fresh();
    let refused = place.run(&["serve", "--listen", "127.0.0.1:0"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(
        refused.err.contains("the demo was not brought in"),
        "{refused:?}"
    );
    assert!(refused.err.contains("seed-data"), "{refused:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_demo_brings_its_fleet_in_at_the_first_start_and_says_what_to_open() {
    let place = Place::fresh();
    let seed_data = seed_data();
    let arguments = [
        "serve",
        "--listen",
        "127.0.0.1:0",
        "--seed-data",
        seed_data.to_str().unwrap(),
    ];
    let first = place.serve(&arguments);
    assert!(
        first.printed[0].starts_with("First start"),
        "{:?}",
        first.printed
    );
    assert!(
        first.printed[1].ends_with("entries recorded."),
        "{:?}",
        first.printed
    );
    let client = tests::visitor::http().build().unwrap();
    let page = client.get(&first.address).send().await.unwrap();
    assert!(page.status().is_success(), "{page:?}");
    drop(first);

    let second = place.serve(&arguments);
    assert_eq!(second.printed.len(), 1, "{:?}", second.printed);
}

#[test]
fn single_sign_on_needs_a_secret_and_addresses_over_https_but_not_its_provider() {
    // Nobody listens at the port that was free a moment ago.
    let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let issuer = format!("http://{}", free.local_addr().unwrap());
    drop(free);
    let place = Place::fresh();
    let database = place.database();
    std::fs::write(place.path("secret"), "an invented secret\n").unwrap();
    let with = |issuer: &str, more: &[&str]| {
        let mut arguments = vec!["serve", "--listen", "127.0.0.1:0", "--database", &database];
        arguments.extend([
            "--sign-on-issuer",
            issuer,
            "--sign-on-client",
            "brake-register",
        ]);
        arguments.extend(["--sign-on-address", "https://brakes.example"]);
        arguments.extend(more);
        arguments.into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    let secret = ["--sign-on-secret-file", "secret"];
    for (arguments, says) in [
        (with(&issuer, &[]), "single sign-on needs a secret"),
        (with("http://id.example", &secret), "is not safe"),
    ] {
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let refused = place.run(&arguments);
        assert_eq!(refused.code, Some(1), "{refused:?}");
        assert!(refused.err.contains(says), "{refused:?}");
    }
    let arguments = with(&issuer, &secret);
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let serving = place.serve(&arguments);
    assert!(
        serving.printed[0].starts_with("Single sign-on does not work yet"),
        "{:?}",
        serving.printed
    );
}
