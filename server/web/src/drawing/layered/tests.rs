//! Properties of drawings of any network: nothing covers anything else, and everything is drawn.

use super::tracks::{Course, NEAR, Wire, courses};
use super::{Edge, Graph, Layout, Node, Point, Row, Ways, lay_out};
use proptest::prelude::*;

/// A symbol with words on both sides.
fn node(hint: i64) -> Node {
    Node {
        half: 15,
        before: 12,
        after: 40,
        height: 30,
        hint,
        joins: true,
    }
}

fn edge(from: usize, to: usize, ways: Ways, sort: u8) -> Edge {
    Edge {
        from,
        to,
        ways,
        sort,
    }
}

/// Any network: up to three rows of up to five nodes with lines between neighbours, other nodes,
/// and any lines whatever, circles and doubles among them.
fn networks() -> impl Strategy<Value = Graph> {
    let rows = prop::collection::vec((1usize..6, any::<bool>(), any::<bool>()), 0..4);
    let others = prop::collection::vec((0i64..1000, any::<bool>()), 1..30);
    let lines = prop::collection::vec(
        (
            any::<prop::sample::Index>(),
            any::<prop::sample::Index>(),
            any::<bool>(),
            0u8..3,
        ),
        0..60,
    );
    (rows, others, lines).prop_map(|(rows, others, lines)| {
        let mut graph = Graph::default();
        for (count, left_end, right_end) in rows {
            let first = graph.nodes.len();
            let nodes: Vec<usize> = (first..first + count).collect();
            graph.nodes.extend(nodes.iter().map(|_| node(0)));
            let beside = nodes
                .windows(2)
                .map(|pair| edge(pair[0], pair[1], Ways::Both, 0));
            graph.edges.extend(beside);
            graph.rows.push(Row {
                nodes,
                left_end,
                right_end,
            });
        }
        graph.nodes.extend(others.iter().map(|(hint, joins)| Node {
            joins: *joins,
            ..node(*hint)
        }));
        for (from, to, both, sort) in lines {
            let (from, to) = (from.index(graph.nodes.len()), to.index(graph.nodes.len()));
            if from != to {
                let ways = if both { Ways::Both } else { Ways::One };
                graph.edges.push(edge(from, to, ways, sort));
            }
        }
        graph
    })
}

/// The box of a symbol with its words: left, top, right, bottom.
fn boxes(graph: &Graph, layout: &Layout) -> Vec<[i32; 4]> {
    let drawn = graph.nodes.iter().zip(&layout.nodes);
    drawn
        .map(|(node, placed)| {
            let Point { x, y } = placed.at;
            let half = node.height / 2;
            [
                x - placed.half - node.before,
                y - half,
                x + placed.half + node.after,
                y + half,
            ]
        })
        .collect()
}

fn overlap(one: [i32; 4], other: [i32; 4]) -> bool {
    one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
}

/// The pieces of a line.
fn pieces(path: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    path.windows(2)
        .map(|pair| (pair[0].min(pair[1]), pair[0].max(pair[1])))
}

/// Whether two lines are in one net, and so may run together.
fn run_together(layout: &Layout, one: usize, other: usize) -> bool {
    let mut nets = layout.nets.iter();
    nets.any(|net| net.edges.contains(&one) && net.edges.contains(&other))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_symbol_covers_another(graph in networks()) {
        let layout = lay_out(&graph);
        let boxes = boxes(&graph, &layout);
        for (place, one) in boxes.iter().enumerate() {
            for other in &boxes[..place] {
                prop_assert!(!overlap(*one, *other), "{one:?} covers {other:?}");
            }
        }
    }

    #[test]
    fn every_line_is_drawn_at_right_angles_from_symbol_to_symbol(graph in networks()) {
        let layout = lay_out(&graph);
        let boxes = boxes(&graph, &layout);
        prop_assert_eq!(layout.paths.len(), graph.edges.len());
        for (edge, path) in graph.edges.iter().zip(&layout.paths) {
            prop_assert!(2 <= path.len());
            for (end, node) in [(path.first(), edge.from), (path.last(), edge.to)] {
                let (point, placed) = (*end.unwrap(), &layout.nodes[node]);
                let [_, top, _, bottom] = boxes[node];
                prop_assert!((point.x - placed.at.x).abs() <= placed.half);
                prop_assert!(top <= point.y && point.y <= bottom);
            }
            for (one, other) in pieces(path) {
                prop_assert!(one.x == other.x || one.y == other.y, "{path:?}");
            }
        }
    }

    #[test]
    fn no_line_runs_through_a_symbol_that_it_does_not_join(graph in networks()) {
        let layout = lay_out(&graph);
        let boxes = boxes(&graph, &layout);
        for (edge, path) in graph.edges.iter().zip(&layout.paths) {
            for (node, [left, top, right, bottom]) in boxes.iter().copied().enumerate() {
                if node == edge.from || node == edge.to {
                    continue;
                }
                for (one, other) in pieces(path) {
                    // A line of a row runs under the words of its own nodes and between them.
                    let line = [one.x, one.y, other.x.max(one.x + 1), other.y.max(one.y + 1)];
                    let symbol = [left, top, right, bottom];
                    prop_assert!(!overlap(line, symbol), "{path:?} through {symbol:?}");
                }
            }
        }
    }

    #[test]
    fn no_line_runs_over_another_unless_they_are_one(graph in networks()) {
        let layout = lay_out(&graph);
        for (one, path) in layout.paths.iter().enumerate() {
            for (other, with) in layout.paths[..one].iter().enumerate() {
                if run_together(&layout, one, other) {
                    continue;
                }
                for a in pieces(path) {
                    for b in pieces(with) {
                        let upright = a.0.x == a.1.x && b.0.x == b.1.x && a.0.x == b.0.x
                            && a.0.y < b.1.y && b.0.y < a.1.y;
                        let level = a.0.y == a.1.y && b.0.y == b.1.y && a.0.y == b.0.y
                            && a.0.x < b.1.x && b.0.x < a.1.x;
                        prop_assert!(!upright && !level, "{a:?} over {b:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_drawing_is_the_same_each_time_and_bounded(graph in networks()) {
        let layout = lay_out(&graph);
        prop_assert_eq!(&lay_out(&graph), &layout);
        // A layer holds at most every node and a bend of every line; a channel a track of each,
        // or two; there are no more layers than nodes.
        let count = |of: usize| i32::try_from(of).unwrap();
        let (nodes, lines) = (count(graph.nodes.len()), count(graph.edges.len()));
        prop_assert!(layout.width <= 1300 + nodes * 400 + lines * 40);
        prop_assert!(layout.height <= 16 + nodes * (56 + 16 * lines));
        for point in layout.paths.iter().flatten() {
            prop_assert!(0 <= point.x && point.x <= layout.width);
            prop_assert!(0 <= point.y && point.y <= layout.height);
        }
    }

    #[test]
    fn flow_runs_down_unless_it_closes_a_circle(count in 2usize..30, lines in prop::collection::vec((0usize..30, 0usize..30), 1..50)) {
        // Lines lead from lower numbers to higher ones: there is no circle.
        let mut graph = Graph::default();
        graph.nodes.extend((0..count).map(|place| node(i64::try_from(place).unwrap())));
        for (one, other) in lines {
            let (from, to) = ((one % count).min(other % count), (one % count).max(other % count));
            if from != to {
                graph.edges.push(edge(from, to, Ways::One, 0));
            }
        }
        let layout = lay_out(&graph);
        for edge in &graph.edges {
            prop_assert!(layout.nodes[edge.from].at.y < layout.nodes[edge.to].at.y);
        }
    }

    #[test]
    fn wires_of_a_channel_never_share_a_place(pins in prop::collection::vec((0i32..40, prop::collection::vec(0i32..40, 1..4)), 1..12)) {
        let (mut uppers, mut lowers) = (Vec::new(), Vec::new());
        let mut wires: Vec<Wire> = Vec::new();
        for (upper, lower) in pins {
            let lower: Vec<i32> = lower.into_iter().filter(|x| !lowers.contains(x)).collect();
            let mut own = lower.clone();
            own.dedup();
            own.sort_unstable();
            own.dedup();
            if !uppers.contains(&upper) && !own.is_empty() {
                uppers.push(upper);
                lowers.extend(&own);
                wires.push(Wire {
                    uppers: vec![upper * 9],
                    lowers: own.iter().map(|x| x * 9).collect(),
                });
            }
        }
        let (courses, tracks) = courses(&wires);
        for (one, wire) in wires.iter().enumerate() {
            for other in 0..one {
                let a = drawn(wire, courses[one], tracks);
                let b = drawn(&wires[other], courses[other], tracks);
                for (p, q) in a.iter().flat_map(|p| b.iter().map(move |q| (p, q))) {
                    let upright = p.0 == p.2 && q.0 == q.2 && (p.0 - q.0).abs() < NEAR
                        && p.1 < q.3 && q.1 < p.3;
                    let level = p.1 == p.3 && q.1 == q.3 && p.1 == q.1 && p.0 <= q.2 && q.0 <= p.2
                        && p.0 != p.2 && q.0 != q.2;
                    prop_assert!(!upright && !level, "{p:?} {q:?} of {wires:?}");
                }
            }
        }
    }
}

/// The pieces of a wire, its tracks as heights: from left and top to right and bottom.
fn drawn(wire: &Wire, course: Course, tracks: usize) -> Vec<(i32, i32, i32, i32)> {
    let height = |track: usize| i32::try_from(track).unwrap() + 1;
    let bottom = height(tracks);
    let (mut pieces, level) = (Vec::new(), |y: i32, xs: &[i32]| {
        let (left, right) = (xs.iter().min().unwrap(), xs.iter().max().unwrap());
        (*left, y, *right, y)
    });
    let down =
        |xs: &[i32], from: i32, to: i32| xs.iter().map(|x| (*x, from, *x, to)).collect::<Vec<_>>();
    match course {
        Course::Straight => pieces.extend(down(&wire.uppers, 0, bottom)),
        Course::Track(track) => {
            let all: Vec<i32> = wire.uppers.iter().chain(&wire.lowers).copied().collect();
            pieces.push(level(height(track), &all));
            pieces.extend(down(&wire.uppers, 0, height(track)));
            pieces.extend(down(&wire.lowers, height(track), bottom));
        }
        Course::Two {
            first,
            column,
            second,
        } => {
            let above: Vec<i32> = wire.uppers.iter().copied().chain([column]).collect();
            let below: Vec<i32> = wire.lowers.iter().copied().chain([column]).collect();
            pieces.push(level(height(first), &above));
            pieces.push(level(height(second), &below));
            pieces.extend(down(&wire.uppers, 0, height(first)));
            pieces.extend(down(&[column], height(first), height(second)));
            pieces.extend(down(&wire.lowers, height(second), bottom));
        }
    }
    pieces
}

#[test]
fn a_pipe_lies_across_the_page_with_its_ends_at_the_edges() {
    let mut graph = Graph::default();
    graph.nodes.extend((0..9).map(node));
    graph.rows.push(Row {
        nodes: vec![0, 1, 2],
        left_end: true,
        right_end: true,
    });
    graph
        .edges
        .extend([(0, 1), (1, 2)].map(|(a, b)| edge(a, b, Ways::Both, 0)));
    graph
        .edges
        .extend((3..9).map(|leaf| edge(1, leaf, Ways::One, 0)));
    let layout = lay_out(&graph);
    let at = |node: usize| layout.nodes[node].at;
    assert!(at(0).y == at(1).y && at(1).y == at(2).y);
    assert!((3..9).all(|leaf| at(0).x <= at(leaf).x && at(leaf).x <= at(2).x));
    // Branches leave as one line, which is joined where it branches.
    assert_eq!(layout.nets.len(), 1);
    assert!(!layout.nets[0].dots.is_empty());
}

#[test]
fn what_only_feeds_a_pipe_hangs_below_it_and_rises() {
    let mut graph = Graph::default();
    graph.nodes.extend((0..4).map(node));
    graph.rows.push(Row {
        nodes: vec![0],
        left_end: false,
        right_end: false,
    });
    let lines = [(3, 2), (2, 1), (1, 0)];
    graph
        .edges
        .extend(lines.map(|(from, to)| edge(from, to, Ways::One, 0)));
    let layout = lay_out(&graph);
    for (path, (from, to)) in layout.paths.iter().zip(lines) {
        assert!(layout.nodes[to].at.y < layout.nodes[from].at.y);
        assert!(path.last().unwrap().y < path.first().unwrap().y);
    }
}

#[test]
fn two_lines_that_change_places_do_so_without_running_over_each_other() {
    let wire = |upper, lower| Wire {
        uppers: vec![upper],
        lowers: vec![lower],
    };
    let (courses, tracks) = courses(&[wire(100, 200), wire(200, 100)]);
    assert_eq!(tracks, 3);
    assert!(
        courses
            .iter()
            .any(|course| matches!(course, Course::Two { .. }))
    );
}

#[test]
fn an_empty_network_is_an_empty_drawing() {
    let layout = lay_out(&Graph::default());
    assert!(layout.nodes.is_empty() && layout.paths.is_empty());
}
