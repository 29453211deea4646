//! The built program in a folder of its own.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use tempfile::TempDir;

/// Names the program; set by `tests/run`, which builds it first.
const PROGRAM: &str = "REGISTER_BINARY";

/// What a person must not have set for a test to say what it means.
const SETTINGS: [&str; 10] = [
    "REGISTER_DATABASE",
    "REGISTER_ZONE",
    "REGISTER_LISTEN",
    "REGISTER_LOG",
    "REGISTER_PROXY",
    "REGISTER_SIGN_ON_ISSUER",
    "REGISTER_SIGN_ON_CLIENT",
    "REGISTER_SIGN_ON_ADDRESS",
    "REGISTER_SIGN_ON_SECRET_FILE",
    "REGISTER_SIGN_ON_SECRET",
];

/// An input in which nothing is wrong: two parts and a component.
pub(crate) const GOOD: [(&str, &str); 2] = [
    (
        "parts.csv",
        "part,title,kind\nK-10,cock,isolating_cock\nC-7,caliper,caliper\n",
    ),
    (
        "components.csv",
        "part,serial,condition,location,received_at\n\
         C-7,12-001,serviceable,Marrowby store,2024-01-01\n",
    ),
];

/// The program that is named, or else the one built beside the tests.
fn program() -> PathBuf {
    let beside = || {
        let tests = std::env::current_exe().unwrap();
        tests.parent().unwrap().with_file_name("register")
    };
    let program = std::env::var_os(PROGRAM).map_or_else(beside, PathBuf::from);
    assert!(
        program.is_file(),
        "{} is not there. `tests/run` builds it, as does `cargo build`.",
        program.display()
    );
    program
}

/// The folder with the invented fleet that comes with the program.
pub(crate) fn seed_data() -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests.parent().unwrap().join("seed-data")
}

/// Runs the program on the database of a place with an output that nobody reads any more, and gives
/// what it printed as wrong.
pub(crate) fn program_piped_to_nobody(place: &Place, arguments: &[&str]) -> String {
    let database = place.database();
    let mut command = place.command(&[arguments, &["--database", &database]].concat());
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let child = command.stdout(writer).stderr(Stdio::piped()).spawn();
    let ended = child.unwrap().wait_with_output().unwrap();
    String::from_utf8(ended.stderr).unwrap()
}

/// What a run came to.
#[derive(Debug)]
pub(crate) struct Ran {
    /// How it exited.
    pub(crate) code: Option<i32>,
    /// What it printed.
    pub(crate) out: String,
    /// What it printed as wrong.
    pub(crate) err: String,
}

impl Ran {
    fn of(output: Output) -> Self {
        Self {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// A folder in which the program is run, with the address of a database in it.
pub(crate) struct Place {
    folder: TempDir,
    /// The database, if it is not a file in the folder.
    database: Option<String>,
}

impl Place {
    /// An empty folder.
    pub(crate) fn fresh() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self {
            folder,
            database: None,
        }
    }

    /// An empty folder with a database elsewhere.
    pub(crate) fn on(database: &str) -> Self {
        Self {
            database: Some(database.to_owned()),
            ..Self::fresh()
        }
    }

    /// A path in the folder.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// An input with these files.
    pub(crate) fn input(&self, name: &str, files: &[(&str, &str)]) {
        let input = self.path(name);
        std::fs::create_dir(&input).unwrap();
        for (file, content) in files {
            std::fs::write(input.join(file), content).unwrap();
        }
    }

    /// The address of the database.
    pub(crate) fn database(&self) -> String {
        let own = || format!("sqlite://{}", self.path("register.sqlite").display());
        self.database.clone().unwrap_or_else(own)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program());
        command.args(arguments).current_dir(self.folder.path());
        for setting in SETTINGS {
            command.env_remove(setting);
        }
        command
    }

    /// Runs the program to its end.
    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(self.command(arguments).output().unwrap())
    }

    /// Runs the program on the database to its end.
    pub(crate) fn run_on_database(&self, arguments: &[&str]) -> Ran {
        let database = self.database();
        self.run(&[arguments, &["--database", &database]].concat())
    }

    /// Runs the program on the database to its end, with a line typed into it.
    pub(crate) fn run_typing(&self, arguments: &[&str], typed: &str) -> Ran {
        let database = self.database();
        let mut command = self.command(&[arguments, &["--database", &database]].concat());
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // The program may end before it reads.
        let _ = child
            .stdin
            .take()
            .unwrap()
            .write_all(format!("{typed}\n").as_bytes());
        Ran::of(child.wait_with_output().unwrap())
    }

    /// Starts the program and reads what it prints up to the address that it serves.
    pub(crate) fn serve(&self, arguments: &[&str]) -> Serving {
        let mut command = self.command(arguments);
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let mut serving = Serving {
            child,
            printed: Vec::new(),
            address: String::new(),
        };
        for line in out.lines().map_while(Result::ok) {
            let address = line
                .strip_prefix("Open ")
                .and_then(|rest| rest.split(' ').next());
            let address = address.map(str::to_owned);
            serving.printed.push(line);
            if let Some(address) = address {
                serving.address = address;
                return serving;
            }
        }
        panic!("it did not say what to open: {:?}", serving.printed);
    }
}

/// The program while it serves; it ends with this value.
pub(crate) struct Serving {
    child: Child,
    /// The lines that it printed.
    pub(crate) printed: Vec<String>,
    /// What it said to open.
    pub(crate) address: String,
}

impl Serving {
    /// Ends it at once, as a power cut ends it.
    pub(crate) fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
