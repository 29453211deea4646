//! Every path of the server, found in the source, so that none is forgotten: no page fails
//! because nobody is signed in, nothing is recorded without a form token, and the `OpenAPI`
//! document lists all that answers programs.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use domain::people::Role;
use reqwest::Method;
use serde_json::Value;
use tests::each_database;
use tests::visitor::Visitor;
use web::Mode;

use super::sample::Served;

/// What stands for the names in braces: things that the sample fleet has.
const NAMES: [(&str, &str); 14] = [
    ("person", "planner"),
    ("car", "4101"),
    ("number", "4101"),
    ("code", "%3DBS1-K1"),
    ("position", "%3DBS1-K1"),
    ("unit", "41"),
    ("part", "DV%2F210"),
    ("serial", "1"),
    ("train", "2T14"),
    ("fleet", "Sedge"),
    ("entry", "1"),
    ("seq", "1"),
    ("name", "register.css"),
    ("id", "T-1"),
];

async fn no_path_fails_for_a_visitor_who_is_not_signed_in(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for Route { method, path } in routes() {
        let page = visitor.send(visitor.request(method.clone(), &path)).await;
        let status = page.status();
        assert!(status < 500, "{method} {path}: {status}\n{}", page.body());
        assert!(
            !(status == 405 || (method == Method::POST && status == 404)),
            "{method} {path}: {status}"
        );
    }
}

async fn nothing_is_recorded_without_the_form_token_of_the_session(url: &str) {
    let served = Served::with_fleet(url).await;
    let last = served.store.view().await.unwrap().last_entry;
    let signed_in = served.signed_in(Role::BrakeEngineer).await;
    for Route { path, .. } in posts() {
        for (visitor, token) in [
            (&signed_in, ""),
            (&signed_in, "guess"),
            (&served.visitor(), "guess"),
        ] {
            let status = try_to_post(visitor, &path, token).await;
            assert!(
                [401, 403].contains(&status),
                "POST {path} with “{token}”: {status}"
            );
        }
    }
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
}

async fn no_page_sends_ten_statements(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::BrakeEngineer).await;
    visitor.get("/").await;
    for Route { path, .. } in routes()
        .into_iter()
        .filter(|route| route.method == Method::GET)
    {
        served.statements.take();
        visitor.get(&path).await;
        let sent = served.statements.take();
        assert!(
            sent.len() <= 9,
            "{path}: {} statements: {sent:#?}",
            sent.len()
        );
    }
}

/// OWASP ASVS 5.0.0, 8.2.1: in a real register nothing but signing in is open to strangers.
async fn a_real_register_is_closed_to_who_is_not_signed_in(url: &str) {
    let served = Served::of(url, Mode::Register).await;
    let visitor = served.visitor();
    for Route { method, path } in routes() {
        let page = visitor.send(visitor.request(method.clone(), &path)).await;
        let open = path.starts_with("/static/")
            || ["/sign-in", "/sign-on", "/sign-on/back"].contains(&path.as_str());
        let closed = match (method == Method::GET, path.starts_with("/api/")) {
            (true, false) => page.path() == "/sign-in",
            _ => page.status() == 401,
        };
        assert!(
            open || closed,
            "{method} {path}: {} {}",
            page.status(),
            page.path()
        );
    }
}

each_database!(
    a_real_register_is_closed_to_who_is_not_signed_in,
    no_page_sends_ten_statements,
    no_path_fails_for_a_visitor_who_is_not_signed_in,
    nothing_is_recorded_without_the_form_token_of_the_session,
);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_openapi_document_lists_every_path_for_programs_with_its_schemas() {
    let database = tests::sqlite::SqliteFile::fresh();
    let served = Served::empty(database.url()).await;
    let document = served.visitor().get("/api/v1/openapi.json").await.json();
    assert!(document["openapi"].as_str().unwrap().starts_with("3."));
    let listed: BTreeSet<(Method, String)> = described(&document).collect();
    let written: BTreeSet<(Method, String)> = annotated().into_iter().collect();
    assert!(written.len() > 10);
    assert_eq!(listed, written);
    let operations: Vec<&Value> = operations(&document).collect();
    let ids: BTreeSet<_> = operations
        .iter()
        .map(|operation| operation["operationId"].to_string())
        .collect();
    assert_eq!(
        ids.len(),
        operations.len(),
        "each operation has an id of its own"
    );
    for operation in operations {
        let answers = operation["responses"].as_object().unwrap();
        assert!(
            answers
                .values()
                .all(|answer| answer["description"].is_string()),
            "{operation}"
        );
    }
    let schemas = document["components"]["schemas"].as_object().unwrap();
    let refs = references(&document);
    assert!(refs.len() > 10);
    for name in refs {
        assert!(
            schemas.contains_key(&name),
            "{name} is named and not described"
        );
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_page_for_people_leads_to_what_answers_programs() {
    let database = tests::sqlite::SqliteFile::fresh();
    let served = Served::empty(database.url()).await;
    let visitor = served.visitor();
    let page = visitor.get("/api").await;
    let listed = page.texts("table tbody tr td:nth-child(2)");
    let written: BTreeSet<String> = annotated().into_iter().map(|(_, path)| path).collect();
    assert_eq!(listed.into_iter().collect::<BTreeSet<_>>(), written);
    assert_eq!(page.count("a[href=\"/api/v1/openapi.json\"]"), 1);
    for kind in ["conflict", "refused", "unreadable", "not-found"] {
        assert_eq!(
            page.count(&format!("#{kind}")),
            1,
            "a problem's type leads to it"
        );
    }
}

/// A path with its names filled in.
pub(super) struct Route {
    pub(super) method: Method,
    pub(super) path: String,
}

/// Every path, of pages and for programs.
pub(super) fn routes() -> Vec<Route> {
    let mut routes: Vec<_> = written_routes(&source("routes.rs"));
    routes.extend(annotated());
    // A stream does not end; `changes` reads it.
    routes.retain(|(_, path)| path != "/api/v1/changes");
    assert!(
        routes.len() > 20,
        "the routes are not where they are looked for"
    );
    let filled = routes.into_iter().map(|(method, path)| Route {
        method,
        path: filled(&path),
    });
    filled.collect()
}

/// Every path that changes something, as the source has it.
pub(super) fn changing() -> BTreeSet<String> {
    let mut routes = written_routes(&source("routes.rs"));
    routes.extend(annotated());
    let posts = routes
        .into_iter()
        .filter(|(method, _)| *method == Method::POST);
    posts.map(|(_, path)| path).collect()
}

/// Everything that changes something. Signing in is what a form token comes from.
fn posts() -> impl Iterator<Item = Route> {
    let of_forms = |route: &Route| route.method == Method::POST && route.path != "/sign-in";
    routes().into_iter().filter(of_forms)
}

async fn try_to_post(visitor: &Visitor, path: &str, token: &str) -> u16 {
    let request = visitor.request(Method::POST, path);
    let request = if path.starts_with("/api/") {
        let body = r#"{"id": "", "effective_at": "", "fact": "withdrawn"}"#;
        let request = request
            .header("content-type", "application/json")
            .body(body);
        request.header("x-form-token", token)
    } else {
        request.form(&[("form_token", token)])
    };
    visitor.send(request).await.status()
}

/// A path with its names filled in; where the sample fleet has nothing of that kind, with a name
/// that nothing has.
fn filled(path: &str) -> String {
    let mut filled = path.to_owned();
    for (name, value) in NAMES {
        filled = filled.replace(&format!("{{{name}}}"), value);
    }
    while let Some((before, rest)) = filled.split_once('{') {
        let (_, after) = rest.split_once('}').unwrap();
        filled = format!("{before}NONE{after}");
    }
    filled
}

fn source(file: &str) -> String {
    let web = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/web/src");
    fs::read_to_string(web.join(file)).unwrap()
}

/// Methods and paths of `.route("/path", get(a).post(b))`.
fn written_routes(source: &str) -> Vec<(Method, String)> {
    let mut routes = Vec::new();
    for call in source.split(".route(").skip(1) {
        let Some((path, rest)) = call
            .trim_start()
            .strip_prefix('"')
            .and_then(|call| call.split_once('"'))
        else {
            continue;
        };
        let handlers = rest.split("\n        .").next().unwrap_or_default();
        for (word, method) in [("get(", Method::GET), ("post(", Method::POST)] {
            if handlers.contains(word) {
                routes.push((method, path.to_owned()));
            }
        }
    }
    routes
}

#[test]
fn routes_are_read_in_every_form_the_formatter_gives_them() {
    let source = "    Router::new()\n        .route(\"/a\", get(a::b).post(a::c))\n        .route(\n            \
        \"/b/{c}\",\n            get(b::show)\n                .post(b::do_it),\n        )\n        .route(NAMED, get(c))\n        .layer(x)";
    let path = |method, path: &str| (method, path.to_owned());
    let (get, post) = (Method::GET, Method::POST);
    let expected = [
        path(get.clone(), "/a"),
        path(post.clone(), "/a"),
        path(get, "/b/{c}"),
        path(post, "/b/{c}"),
    ];
    assert_eq!(written_routes(source), expected);
}

/// Methods and paths of the annotations from which the document is made.
fn annotated() -> Vec<(Method, String)> {
    let mut found = Vec::new();
    for file in crate::tidy::written_under("server/web/src/api") {
        for annotation in file.text.split("#[utoipa::path(").skip(1) {
            let method = annotation.trim_start().split(',').next().unwrap();
            let (_, path) = annotation.split_once("path = \"").unwrap();
            let path = path.split('"').next().unwrap();
            found.push((method.to_uppercase().parse().unwrap(), path.to_owned()));
        }
    }
    found
}

fn described(document: &Value) -> impl Iterator<Item = (Method, String)> {
    let paths = document["paths"].as_object().unwrap();
    paths.iter().flat_map(|(path, methods)| {
        let methods = methods.as_object().unwrap().keys();
        methods.map(|method| (method.to_uppercase().parse().unwrap(), path.clone()))
    })
}

fn operations(document: &Value) -> impl Iterator<Item = &Value> {
    let paths = document["paths"].as_object().unwrap();
    paths
        .values()
        .flat_map(|methods| methods.as_object().unwrap().values())
}

/// The names of all schemas that are referred to.
fn references(value: &Value) -> BTreeSet<String> {
    match value {
        Value::Object(members) => {
            let own = members.get("$ref").and_then(Value::as_str);
            let own = own.and_then(|own| own.strip_prefix("#/components/schemas/"));
            let inner = members.values().flat_map(references);
            own.map(str::to_owned).into_iter().chain(inner).collect()
        }
        Value::Array(values) => values.iter().flat_map(references).collect(),
        _ => BTreeSet::new(),
    }
}
