//! An invented fleet, as files to bring in.

use crate::database::Database;
use crate::figures::Table;
use crate::process::{self, Place};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Stdio;

/// A generated fleet and what is in it to ask about.
pub(crate) struct Fleet {
    /// Its files.
    pub(crate) folder: PathBuf,
    /// Cars, in order.
    pub(crate) cars: Vec<String>,
    /// Depots.
    pub(crate) depots: Vec<String>,
    /// Parts.
    pub(crate) parts: Vec<String>,
    /// Units of three cars, each with its first car.
    pub(crate) units: Vec<(String, String)>,
    /// How many components are fitted and how many tasks there are, in words.
    described: String,
}

/// At least so many positions a car, so that 10,000 cars have a million.
const POSITIONS: &str = "101";
/// Cars in the units that trains are made of.
const UNIT_CARS: usize = 3;

impl Fleet {
    /// Generates a fleet with a year of history.
    pub(crate) fn generate(place: &Place, cars: &str) -> Self {
        let folder = place.folder.join(format!("fleet-{cars}"));
        let to = folder.to_str().unwrap();
        let arguments = ["generate", to, "--cars", cars, "--years", "1"];
        let mut command = place.register(&arguments);
        let output = command.args(["--positions-per-car", POSITIONS]).output();
        let output = output.unwrap();
        assert!(output.status.success(), "{output:?}");
        let said = String::from_utf8(output.stdout).unwrap();
        let cars = rows(&folder, "cars.csv");
        let depots: BTreeSet<String> = cars.iter().map(|car| car[5].clone()).collect();
        let parts = rows(&folder, "parts.csv").into_iter();
        let places = rows(&folder, "units.csv");
        let units = places.chunk_by(|one, next| one[0] == next[0]);
        let units = units.filter(|places| places.len() == UNIT_CARS);
        Self {
            cars: cars.iter().map(|car| car[0].clone()).collect(),
            depots: depots.into_iter().collect(),
            parts: parts.map(|part| part[0].clone()).collect(),
            units: units
                .map(|places| (places[0][0].clone(), places[0][2].clone()))
                .collect(),
            described: said.lines().last().unwrap().to_owned(),
            folder,
        }
    }

    /// Brings it in.
    pub(crate) fn import(&self, place: &Place, database: &Database, table: &mut Table) {
        let folder = self.folder.to_str().unwrap();
        let arguments = ["import", folder, "--database", &database.url];
        let mut command = place.register(&arguments);
        let used = process::run(command.stdout(Stdio::null()).stderr(Stdio::null()));
        let mut numbers = self
            .described
            .split(' ')
            .filter(|word| word.parse::<u32>().is_ok());
        let mut put = |what, target, figure| table.put(what, target, figure);
        put("components fitted", "", numbers.next().unwrap().to_owned());
        put("tasks", "", numbers.next().unwrap().to_owned());
        let seconds = used.wall.as_secs_f64();
        put("import, by the clock", "minutes", format!("{seconds:.0} s"));
        let seconds = used.processor.as_secs_f64();
        put(
            "import, processor time of the process",
            "",
            format!("{seconds:.0} s"),
        );
        let peak = used.peak_megabytes;
        put(
            "import, peak resident",
            "no growth",
            format!("{peak:.0} MB"),
        );
    }

    /// A number of cars, spread over the fleet; fewer where it is smaller.
    pub(crate) fn spread(&self, number: usize) -> impl Iterator<Item = &String> {
        let step = (self.cars.len() / number).max(1);
        self.cars.iter().step_by(step).take(number)
    }
}

/// The rows of a table without its header. Only the first fields are asked for, which are never
/// quoted.
fn rows(folder: &Path, file: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(folder.join(file)).unwrap();
    let fields = |line: &str| line.split(',').map(str::to_owned).collect();
    text.lines().skip(1).map(fields).collect()
}
