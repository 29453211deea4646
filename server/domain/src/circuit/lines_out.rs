//! Lines sorted by the node they come from: those of a car type, and those of a train joined from
//! its cars.

use super::compiled::{CompiledLine, CompiledNode};
use super::sets::{Media, Modes};

/// Lines by the node they come from. Out of each port leads one line more, the last one: the
/// coupling, which leads back to the port itself and carries nothing where no port meets it.
#[derive(Debug, Clone, Default)]
pub(crate) struct LinesOut {
    lines: Vec<CompiledLine>,
    /// The first line out of each node, and at the end the number of all lines.
    first: Vec<usize>,
}

impl LinesOut {
    /// Sorts the lines of a car type, and adds its couplings.
    pub(super) fn of_car(nodes: &[CompiledNode], lines: &[CompiledLine]) -> Self {
        let ports = (0..).zip(nodes).filter(|(_, node)| node.is_port());
        let uncoupled = ports.map(|(port, _)| CompiledLine {
            from: port,
            to: port,
            input: 1,
            media: Media::NONE,
            modes: Modes::NONE,
        });
        let mut lines: Vec<CompiledLine> = lines.iter().copied().chain(uncoupled).collect();
        lines.sort_by_key(|line| line.from);
        let first = (0..=nodes.len()).map(|node| lines.partition_point(|line| line.from < node));
        Self {
            first: first.collect(),
            lines,
        }
    }

    /// Joins the cars of a train. Couplings are pairs of ports, numbered through the train.
    /// Linear in nodes and lines.
    pub(super) fn joined<'c>(
        cars: impl Iterator<Item = &'c Self> + Clone,
        couplings: &[(usize, usize)],
    ) -> Self {
        let mut train = Self {
            lines: Vec::with_capacity(cars.clone().map(|car| car.lines.len()).sum()),
            first: Vec::with_capacity(cars.clone().map(|car| car.first.len()).sum()),
        };
        for car in cars {
            let (nodes, lines) = (train.first.len(), train.lines.len());
            let before = |first: &usize| lines + first;
            train
                .first
                .extend(car.first[..car.first.len() - 1].iter().map(before));
            train
                .lines
                .extend(car.lines.iter().map(|line| CompiledLine {
                    from: nodes + line.from,
                    to: nodes + line.to,
                    ..*line
                }));
        }
        train.first.push(train.lines.len());
        for (from, to) in couplings {
            let coupling = train.first[from + 1] - 1;
            train.lines[coupling] = CompiledLine {
                to: *to,
                media: Media::ALL,
                modes: Modes::ALL,
                ..train.lines[coupling]
            };
        }
        train
    }

    /// The lines out of a node.
    pub(super) fn from(&self, node: usize) -> &[CompiledLine] {
        &self.lines[self.first[node]..self.first[node + 1]]
    }
}
