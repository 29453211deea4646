//! Each package knows only what its manifest names, so the manifests keep the layers apart.

use std::collections::BTreeSet;

use super::{Written, assert_none, written_under};

/// Packages of the project that each package may name.
const ARROWS: [(&str, &[&str]); 7] = [
    ("server/domain", &[]),
    ("server/exchange", &["domain"]),
    ("server/store", &["domain"]),
    ("server/web", &["domain", "store", "exchange"]),
    ("server/register", &["domain", "store", "exchange", "web"]),
    ("tests", &["domain", "store", "exchange", "web"]),
    ("tests/benchmark", &["domain", "store"]),
];

/// Crates that only these packages may name.
const KEPT_TO: [(&str, &[&str]); 3] = [
    ("sqlx", &["server/store", "tests"]),
    ("askama", &["server/web"]),
    ("anyhow", &["server/register"]),
];

/// All that the core may name: arithmetic of dates, bodies of entries, the chain, error types.
const CORE: [&str; 7] = [
    "jiff",
    "proptest",
    "serde",
    "serde_json",
    "sha2",
    "thiserror",
    "uuid",
];

#[test]
fn every_package_is_in_the_table_of_layers() {
    let found: BTreeSet<_> = manifests()
        .into_iter()
        .map(|(package, _)| package)
        .collect();
    let listed = ARROWS.map(|(package, _)| package.to_owned());
    assert_eq!(found, BTreeSet::from(listed));
}

#[test]
fn no_arrow_points_back() {
    let own = ["domain", "store", "exchange", "web", "register", "tests"];
    let mut breaks = Vec::new();
    for (package, named) in manifests() {
        let allowed = ARROWS.iter().find(|(name, _)| *name == package);
        let allowed = allowed.map_or(&[][..], |(_, allowed)| allowed);
        for name in named.iter().map(String::as_str) {
            if own.contains(&name) && !allowed.contains(&name) {
                breaks.push(format!("{package} names {name}"));
            }
        }
    }
    assert_none(
        "register → web → store → domain, and exchange → domain",
        &breaks,
    );
}

#[test]
fn databases_and_pages_are_kept_to_their_packages() {
    let mut breaks = Vec::new();
    for (package, named) in manifests() {
        for (name, allowed) in KEPT_TO {
            if named.contains(name) && !allowed.contains(&package.as_str()) {
                breaks.push(format!(
                    "{package} names {name}, which is kept to {allowed:?}"
                ));
            }
        }
    }
    assert_none("some crates are kept to some packages", &breaks);
}

#[test]
fn the_core_names_what_it_is_allowed_and_nothing_else() {
    let manifests = manifests();
    let (_, named) = manifests
        .iter()
        .find(|(package, _)| package == "server/domain")
        .unwrap();
    let allowed = CORE.map(str::to_owned);
    assert_eq!(*named, BTreeSet::from(allowed));
}

#[test]
fn dependencies_are_read_in_every_form_of_a_manifest() {
    let manifest = "[package]\nname = \"a\"\n[dependencies]\nb.workspace = true\n# c = \"1\"\n\
        d = \"1\"\n[dev-dependencies.e]\nversion = \"1\"\n[target.'cfg(unix)'.dependencies]\nf = {}\n";
    let expected = ["b", "d", "e", "f"].map(str::to_owned);
    assert_eq!(dependencies(manifest), BTreeSet::from(expected));
}

/// Folder and dependencies of each package.
fn manifests() -> Vec<(String, BTreeSet<String>)> {
    let mut files = written_under("server");
    files.extend(written_under("tests"));
    let package = |file: Written| {
        let folder = file.path.strip_suffix("/Cargo.toml")?.to_owned();
        Some((folder, dependencies(&file.text)))
    };
    files.into_iter().filter_map(package).collect()
}

fn dependencies(manifest: &str) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let mut listing = false;
    for line in manifest.lines().map(str::trim) {
        if let Some(table) = line.strip_prefix('[') {
            let table = table.trim_end_matches(']');
            listing = table.ends_with("dependencies");
            if let Some((_, name)) = table.rsplit_once("dependencies.") {
                names.insert(name.to_owned());
            }
        } else if listing && !line.starts_with('#') {
            let name = line.split(['.', '=', ' ']).next().unwrap_or_default();
            names.extend((!name.is_empty()).then(|| name.to_owned()));
        }
    }
    names
}
