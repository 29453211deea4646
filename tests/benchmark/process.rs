//! The programs that are run, and what they use of the machine, as Linux tells it in `/proc`.

use std::path::PathBuf;
use std::process::{Child, Command};
use std::time::{Duration, Instant};

/// What `tests/bench` has made ready.
pub(crate) struct Place {
    /// The built program.
    pub(crate) register: PathBuf,
    /// A folder on the disk that is measured.
    pub(crate) folder: PathBuf,
    /// The socket folder of a PostgreSQL cluster with durable commits.
    pub(crate) cluster: String,
    /// A Python with the libraries that are compared with, if there is one.
    pub(crate) python: Option<PathBuf>,
}

impl Place {
    /// As named in the environment.
    pub(crate) fn named() -> Self {
        let named = |name: &str| {
            let value = std::env::var(name).ok().filter(|value| !value.is_empty());
            value.ok_or_else(|| format!("{name} is not set; run tests/bench"))
        };
        Self {
            register: named("REGISTER_BINARY").unwrap().into(),
            folder: named("BENCHMARK_FOLDER").unwrap().into(),
            cluster: named("BENCHMARK_CLUSTER").unwrap(),
            python: named("BENCHMARK_PYTHON").ok().map(PathBuf::from),
        }
    }

    /// The program with arguments.
    pub(crate) fn register(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(&self.register);
        command.args(arguments);
        command
    }
}

/// What a program used from its start to its end.
pub(crate) struct Used {
    /// By the clock.
    pub(crate) wall: Duration,
    /// Of the processors, in its own name.
    pub(crate) processor: Duration,
    /// The most memory that was resident at once.
    pub(crate) peak_megabytes: f64,
}

/// Hundredths of a second, in which Linux tells the time of processors.
const TICK: Duration = Duration::from_millis(10);
/// How often a running program is looked at.
const LOOK: Duration = Duration::from_millis(20);

/// Runs a program to its end, which must be a success.
pub(crate) fn run(command: &mut Command) -> Used {
    let started = Instant::now();
    let mut child = command.spawn().unwrap();
    let mut used = Used {
        wall: Duration::ZERO,
        processor: Duration::ZERO,
        peak_megabytes: 0.0,
    };
    loop {
        look(&child, &mut used);
        if let Some(status) = child.try_wait().unwrap() {
            assert!(status.success(), "{command:?}: {status}");
            used.wall = started.elapsed();
            return used;
        }
        std::thread::sleep(LOOK);
    }
}

fn look(child: &Child, used: &mut Used) {
    used.peak_megabytes = peak_megabytes(child.id()).unwrap_or(used.peak_megabytes);
    used.processor = processor(child.id()).unwrap_or(used.processor);
}

/// The most memory that a process had resident at once.
pub(crate) fn peak_megabytes(id: u32) -> Option<f64> {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kibibytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes * 1024.0 / 1e6)
}

fn processor(id: u32) -> Option<Duration> {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
    // The name in brackets may hold blanks; user and system time are fields 14 and 15.
    let (_, fields) = stat.rsplit_once(") ")?;
    let mut times = fields.split(' ').skip(11).take(2).map(str::parse::<u32>);
    let ticks = times.next()?.ok()? + times.next()?.ok()?;
    Some(TICK * ticks)
}
