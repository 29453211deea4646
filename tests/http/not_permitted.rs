//! A role tries by every path what it may not: each attempt is refused and kept for auditors, and
//! nothing is changed. Who may is written here once more, so that nobody comes to may by a slip. Every
//! kind of fact is tried by every role in `tests/ledger/permissions.rs`.

use std::collections::BTreeMap;

use domain::people::Role::{
    self, Administrator, BrakeEngineer, Controller, Planner, Stores, Technician,
};
use reqwest::Method;
use serde_json::json;
use tests::each_database;
use tests::form::Form;
use tests::register::Register;
use tests::visitor::Visitor;

use super::car_types::with_line;
use super::routes::changing;
use super::sample::Served;

/// What is for everybody: signing in, one's own account, and for programs what depends on the fact.
const FOR_ALL: [&str; 8] = [
    "/sign-in",
    "/sign-out",
    "/my-account/password",
    "/my-account/sessions",
    "/my-account/tokens",
    "/my-account/tokens/revoke",
    "/api/v1/entries",
    "/api/v1/entries/foreseen",
];

/// Whom something is for.
type May = &'static [Role];

const KEEPERS: May = &[Administrator];
const ENGINEERS: May = &[BrakeEngineer];
const PLANNERS: May = &[Planner];
const READERS_OF_METERS: May = &[Planner, Technician, Controller, BrakeEngineer];
const WORKERS: May = &[Technician, BrakeEngineer];
const HANDLERS: May = &[Technician, Stores, BrakeEngineer];
const STOCK: May = &[Stores, BrakeEngineer];
const ISOLATING: May = &[Controller, Technician, BrakeEngineer];
const HOLDING: May = &[Controller, BrakeEngineer];

/// A form as it is sent: to which path, with which fields, each behind a semicolon, and who may.
type Sent = (&'static str, &'static str, May);

const TRAINS_AND_CHECKS: &[Sent] = &[
    (
        "/trains",
        "train=T9; formation=TM101",
        &[Planner, Controller, BrakeEngineer],
    ),
    (
        "/isolations/new",
        "car=4102; position==BS1-QM1; state=closed_vented; cause=leaking",
        ISOLATING,
    ),
    (
        "/isolations/end",
        "car=4102; position==BS1-QM1; proved_by=T-1",
        ISOLATING,
    ),
    (
        "/isolations/checks",
        "car=4102; position==BS1-QM1; isolation=1; check=pads_free; by=F. Fitter",
        ISOLATING,
    ),
    (
        "/fleet-checks/new",
        "title=hoses; instruction=look; looked_for=one part; answer_by=2027-01-29; cars=4102",
        &[Planner, BrakeEngineer],
    ),
    ("/fleet-checks/1/answer", "car=4102; answer=sound", WORKERS),
    (
        "/visits/new",
        "number=V1; unit=TM101; depot=Tarrenmoor; from=2027-01-28; until=2027-01-30; hours=8",
        PLANNERS,
    ),
    (
        "/visits/V1/plan",
        "unit=TM101; depot=Tarrenmoor; from=2027-01-28; until=2027-01-30; hours=8",
        PLANNERS,
    ),
    (
        "/visits/V1/cancel",
        "reason=it stands in for another",
        PLANNERS,
    ),
    ("/holds/new", "car=4102; investigation=a collision", HOLDING),
    ("/holds/1/lift", "evidence=a letter", HOLDING),
    ("/holds/1/propose", "evidence=a letter", HOLDING),
    (
        "/tests/new",
        "car=4102; procedure=BT-TM-T; revision=A; id=T-9; tester=A. Tester; instrument=G-1; do=record",
        WORKERS,
    ),
    (
        "/ledger/1/withdraw",
        "reason=written down wrongly",
        ENGINEERS,
    ),
    (
        "/ledger/1/correct",
        "reason=written down wrongly",
        ENGINEERS,
    ),
    ("/approvals/1", "outcome=approved", ENGINEERS),
];

const CARS_AND_COMPONENTS: &[Sent] = &[
    (
        "/cars/4102/readings",
        "meter=odometer; value=1000",
        READERS_OF_METERS,
    ),
    (
        "/cars/4102/meters",
        "meter=odometer; last_value=1000; first_value=0",
        READERS_OF_METERS,
    ),
    ("/cars/4102/done", "task=BT; evidence=order 7", WORKERS),
    (
        "/positions/4102/%3DBS1-QM1/fit",
        "part=P-1; serial=1",
        HANDLERS,
    ),
    (
        "/positions/4102/%3DBS1-QM1/remove",
        "part=P-1; serial=1; why=access; to=Store; condition=serviceable",
        HANDLERS,
    ),
    (
        "/positions/4102/%3DBS1-QM1/set",
        "setting=opening pressure; value=8.5 bar",
        WORKERS,
    ),
    ("/locations/new", "name=Works; kind=contractor", STOCK),
    (
        "/components/new",
        "part=P-1; serial=1; location=Store; condition=serviceable; certificate=C 1",
        STOCK,
    ),
    (
        "/components/P-1/1/condition",
        "condition=unserviceable; evidence=inspection",
        HANDLERS,
    ),
    (
        "/components/P-1/1/release",
        "condition=serviceable; evidence=inspection",
        ENGINEERS,
    ),
    ("/components/P-1/1/relocate", "to=Store", STOCK),
    (
        "/components/P-1/1/plate",
        "plate=2; cause=misread",
        HANDLERS,
    ),
    (
        "/components/P-1/1/fit",
        "position=-K1; part=P-2; serial=1",
        HANDLERS,
    ),
    (
        "/components/P-1/1/remove",
        "why=access; to=Store; condition=serviceable",
        HANDLERS,
    ),
    (
        "/components/P-1/1/move",
        "car=4102; position==BS1-QM1; why=access",
        HANDLERS,
    ),
    (
        "/components/P-1/1/swap",
        "other_part=P-2; other_serial=1; why=access",
        HANDLERS,
    ),
    (
        "/components/P-1/1/done",
        "task=OH; evidence=order 7",
        WORKERS,
    ),
];

const DESIGN_AND_ACCOUNTS: &[Sent] = &[
    (
        "/concessions/new",
        "number=C-1; cars=4102; position==BS1-QM1; part=P-1; why=no stock; until=2027-01-31",
        ENGINEERS,
    ),
    (
        "/concessions/C-1/prolong",
        "until=2027-03-31; reason=no stock",
        ENGINEERS,
    ),
    (
        "/concessions/C-1/withdraw",
        "sure=yes; reason=stock came",
        ENGINEERS,
    ),
    (
        "/car-types/TM-T/1/effectivity",
        "cars=4102; from=2026-11-25",
        ENGINEERS,
    ),
    (
        "/modifications/new",
        "number=M-2; title=another seat; car_type=TM-T; cars=4102; by=2027-02-03; source=instruction 12",
        ENGINEERS,
    ),
    (
        "/modifications/M-1/embodied",
        "car=4102; evidence=order 7",
        WORKERS,
    ),
    (
        "/sign-on/bind",
        "issuer=https://provider.example; subject=1; account=planner",
        KEEPERS,
    ),
    ("/accounts", "name=R. Marsh; role_planner=on", KEEPERS),
    ("/accounts/planner/roles", "role_brake_engineer=on", KEEPERS),
    ("/accounts/planner/state", "state=disabled", KEEPERS),
    ("/accounts/planner/password", "", KEEPERS),
    (
        "/accounts/planner/unbind",
        "issuer=https://provider.example; subject=1",
        KEEPERS,
    ),
];

/// A form that is sent to a path, as somebody who may was offered it or would fill it in.
struct Attempt {
    path: String,
    fields: Vec<(String, String)>,
    may: May,
}

impl Attempt {
    fn of(&(path, fields, may): &Sent) -> Self {
        let fields = fields.split("; ").filter_map(|field| field.split_once('='));
        let fields = fields.map(|(name, value)| (name.to_owned(), value.to_owned()));
        Self {
            path: path.to_owned(),
            fields: fields.collect(),
            may,
        }
    }

    fn offered(form: &Form, may: May) -> Self {
        Self {
            path: form.action().path().to_owned(),
            fields: form.fields().to_vec(),
            may,
        }
    }

    /// Sends it as somebody, with the form token of theirs.
    async fn by(&self, visitor: &Visitor, form_token: &str) -> u16 {
        let mut fields = self.fields.clone();
        fields.retain(|(name, _)| name != "form_token");
        fields.push(("form_token".to_owned(), form_token.to_owned()));
        let request = visitor.request(Method::POST, &self.path);
        visitor.send(request.form(&fields)).await.status()
    }

    /// Whether it goes where a path of the source leads, whose names in braces stand for anything.
    fn is_to(&self, written: &str) -> bool {
        let mut steps = written.split('/').zip(self.path.split('/'));
        let as_long = written.matches('/').count() == self.path.matches('/').count();
        as_long && steps.all(|(written, sent)| written.starts_with('{') || written == sent)
    }
}

fn filled(form: Form, fields: &[(&str, &str)]) -> Form {
    fields
        .iter()
        .fold(form, |form, (name, value)| form.fill(name, value))
}

/// Forms that only a page fills in whole: what was found of a train, a circuit, rules.
async fn offered(served: &Served) -> Vec<Attempt> {
    let engineer = served.signed_in(BrakeEngineer).await;
    let page = engineer.get("/trains/T1/decide").await;
    let decide = Attempt::offered(&page.form("#decide form"), HOLDING);
    let page = engineer.get("/car-types/TM-T/1/approved").await;
    let approved = filled(page.form("#approved form"), &[("revision", "Z")]);
    let page = engineer.get("/car-types/TM-T/1/circuit").await;
    let (circuit, changed) = with_line(
        &page,
        "=BS1-WH2 -> =BS1-MB3 carries cylinder_pressure",
        "=BS1-QN3 -> =BS1-MB3 carries cylinder_pressure",
    );
    let revised = [
        ("revision", "Z"),
        ("circuit", &*changed),
        ("what", "propose"),
    ];
    let circuit = filled(circuit, &revised);
    let page = engineer.get("/rule-sets/new").await;
    let rules = [
        ("name", "Trial"),
        ("revision", "A"),
        ("issuer", "Tarrenmoor Regional Railway (invented)"),
        ("note", "An example."),
        ("valid_from", "2027-01-01"),
    ];
    let rules = filled(page.form("#new form"), &rules);
    let revise = "/rule-sets/Example%20by%20percentage%20and%20distance/A/revise";
    let page = engineer.get(revise).await;
    let revised = [("revision", "Z"), ("valid_from", "2027-01-01")];
    let revised = filled(page.form("#revise form"), &revised);
    let forms = [approved, circuit, rules, revised];
    let forms = forms.iter().map(|form| Attempt::offered(form, ENGINEERS));
    forms.chain([decide]).collect()
}

/// A modification that may be embodied in a car.
async fn issue_modification(served: &Served) {
    let issued = json!({"modification_issued": {
        "number": "M-1", "title": "another seat of the valve",
        "scope": {"cars": {"car_type": "TM-T", "cars": [{"first": "4102", "last": "4102"}]}},
        "by": "2027-02-03", "source": "instruction 12 (invented)",
    }});
    let at = "2026-11-21T08:00:00Z".to_owned();
    served.import(vec![(at, issued)]).await;
}

async fn attempts(served: &Served) -> Vec<Attempt> {
    let listed = [TRAINS_AND_CHECKS, CARS_AND_COMPONENTS, DESIGN_AND_ACCOUNTS];
    let listed = listed.into_iter().flatten().map(Attempt::of);
    listed.chain(offered(served).await).collect()
}

async fn what_is_not_for_a_role_is_refused_by_every_path_and_kept(url: &str) {
    let served = Served::with_trains(url).await;
    issue_modification(&served).await;
    let attempts = attempts(&served).await;
    for path in changing() {
        let tried = attempts.iter().any(|attempt| attempt.is_to(&path));
        assert_ne!(FOR_ALL.contains(&&*path), tried, "{path}");
    }
    let last = served.store.view().await.unwrap().last_entry;
    let accounts = served.store.accounts().await.unwrap();
    let mut refused = BTreeMap::new();
    for role in Role::ALL {
        let visitor = served.signed_in(*role).await;
        let session = visitor.get("/api/v1/session").await.json();
        let form_token = session["form_token"].as_str().unwrap();
        for attempt in attempts.iter().filter(|one| !one.may.contains(role)) {
            let status = attempt.by(&visitor, form_token).await;
            assert_eq!(status, 403, "{role} {}", attempt.path);
            *refused.entry(role.name()).or_insert(0) += 1;
        }
    }
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    assert_eq!(served.store.accounts().await.unwrap(), accounts);
    let mut register = Register::open(url).await;
    for (person, times) in refused {
        let kept = format!("select count(*) from refused_attempt where person = '{person}'");
        assert_eq!(register.tables.number(&kept).await, times, "{person}");
    }
}

each_database!(what_is_not_for_a_role_is_refused_by_every_path_and_kept);
