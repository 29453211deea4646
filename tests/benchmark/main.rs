//! The register measured with invented fleets of several sizes on both databases. Everything but
//! the decision in the core is measured from outside: the built program imports and serves, and
//! is asked over HTTP on the loopback. `tests/bench` builds and runs this.
#![allow(
    clippy::unwrap_used,
    reason = "a measurement that cannot go on ends here"
)]

mod client;
mod compared;
mod database;
mod decision;
mod entries;
mod figures;
mod fleet;
mod pages;
mod process;
mod server;

use compared::Question;
use database::Database;
use figures::Table;
use fleet::Fleet;
use process::Place;
use server::Server;

/// That of the program, so that the core is measured as it serves.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

#[tokio::main]
async fn main() {
    let place = Place::named();
    let mut table = Table::default();
    for cars in std::env::args().skip(1) {
        eprintln!("{cars} cars: the fleet");
        let fleet = Fleet::generate(&place, &cars);
        let mut asked = Vec::new();
        for database in Database::both(&place, &cars) {
            table.column(format!("{}, {cars} cars", database.name));
            let answers = measure(&place, &fleet, &database, &mut table).await;
            compared::assert_same(&asked, &answers);
            asked = answers;
        }
        std::fs::remove_dir_all(&fleet.folder).unwrap();
    }
    print!("{table}");
}

/// Measures one fleet on one database and gives the due questions that were asked.
async fn measure(
    place: &Place,
    fleet: &Fleet,
    database: &Database,
    table: &mut Table,
) -> Vec<Question> {
    let step = |what: &str| eprintln!("{} cars, {}: {what}", fleet.cars.len(), database.name);
    database.make();
    step("import");
    fleet.import(place, database, table);
    database.settle();
    let cookie = {
        server::make_account(place, database);
        let server = Server::start(place, database);
        server::sign_in(&mut server.client())
    };
    // Started anew, so that its memory is that of serving.
    let server = Server::start(place, database);
    let mut client = server.client().signed_in(&cookie);
    step("pages");
    pages::measure(&mut client, fleet, table);
    step("decisions");
    decision::measure(&mut client, fleet, database, table).await;
    step("the due question by other means");
    let questions = compared::ask(&mut client, fleet, table);
    if let Some(file) = database.file() {
        compared::ask_others(place, &file, &questions, table);
    }
    step("entries");
    entries::measure(&mut client, fleet, table);
    let peak = process::peak_megabytes(server.id()).unwrap();
    table.put("server, peak resident", "< 300 MB", format!("{peak:.0} MB"));
    drop(server);
    database.drop();
    questions
}
