//! The order of the vertices within each layer, with few crossings of lines. The nodes of a row
//! keep theirs.

use super::Graph;
use super::across::never_falling;
use super::proper::Proper;

/// How often the layers are gone through, down and up.
pub(super) const SWEEPS: usize = 16;
/// How often neighbours of a layer are exchanged in one sweep.
const EXCHANGES: usize = 6;

/// From where a layer is put in order.
#[derive(Clone, Copy, PartialEq, Eq)]
enum By {
    Above,
    Below,
}

/// Puts the layers in the best order that was met.
pub(super) fn reduce_crossings(graph: &Graph, proper: &mut Proper) {
    if graph.nodes.is_empty() {
        return;
    }
    for layer in 0..proper.layers.len() {
        arrange(proper, layer, By::Above);
    }
    let mut best = (crossings(proper), proper.layers.clone());
    for sweep in 0..SWEEPS {
        if sweep % 2 == 0 {
            for layer in 0..proper.layers.len() {
                arrange(proper, layer, By::Above);
            }
        } else {
            for layer in (0..proper.layers.len()).rev() {
                arrange(proper, layer, By::Below);
            }
        }
        exchange(proper);
        let crossings = crossings(proper);
        if crossings < best.0 {
            best = (crossings, proper.layers.clone());
        }
    }
    proper.layers = best.1;
    for layer in 0..proper.layers.len() {
        proper.number(layer);
    }
}

/// The mean place of the neighbours on one side; none without neighbours.
fn barycentre(proper: &Proper, vertex: usize, by: By) -> Option<f64> {
    let places: Vec<usize> = match by {
        By::Above => proper.uppers(vertex).map(|v| proper.place(v)).collect(),
        By::Below => proper.lowers(vertex).map(|v| proper.place(v)).collect(),
    };
    let sum: usize = places.iter().sum();
    (!places.is_empty()).then(|| sum as f64 / places.len() as f64)
}

fn arrange(proper: &mut Proper, layer: usize, by: By) {
    let vertices = proper.layers[layer].clone();
    let arranged = if proper.row_of_layer[layer].is_some() {
        with_row(proper, &vertices, by)
    } else {
        let value = |vertex: &usize| barycentre(proper, *vertex, by);
        let mut moved: Vec<(f64, usize)> = vertices
            .iter()
            .filter_map(|vertex| Some((value(vertex)?, *vertex)))
            .collect();
        moved.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut moved = moved.into_iter().map(|(_, vertex)| vertex);
        let stays = |vertex: &usize| value(vertex).is_none();
        vertices
            .iter()
            .map(|vertex| {
                if stays(vertex) {
                    *vertex
                } else {
                    moved.next().unwrap_or(*vertex)
                }
            })
            .collect()
    };
    proper.layers[layer] = arranged;
    proper.number(layer);
}

/// The order of a layer with a row: bends by their barycentres, between the nodes of the row,
/// which keep their order. Nodes without lines stand outside.
fn with_row(proper: &Proper, vertices: &[usize], by: By) -> Vec<usize> {
    let fixed: Vec<usize> = vertices
        .iter()
        .copied()
        .filter(|vertex| proper.row(*vertex).is_some())
        .collect();
    let any = |vertex: usize| {
        let other = if by == By::Above {
            By::Below
        } else {
            By::Above
        };
        barycentre(proper, vertex, by).or_else(|| barycentre(proper, vertex, other))
    };
    let known: Vec<(f64, f64)> = fixed
        .iter()
        .filter_map(|vertex| Some((any(*vertex)?, 1.0)))
        .collect();
    let mut known = never_falling(&known).into_iter().peekable();
    let mut value = f64::NEG_INFINITY;
    let mut valued: Vec<(f64, usize)> = Vec::with_capacity(vertices.len());
    for (index, vertex) in fixed.iter().enumerate() {
        if any(*vertex).is_some() {
            value = known.next().unwrap_or(value);
        } else if known.peek().is_none() && (value.is_finite() || fixed.len() <= 2 * index) {
            value = f64::INFINITY;
        }
        valued.push((value, *vertex));
    }
    for (value, vertex) in &mut valued {
        if proper.is_left_end(*vertex) {
            *value = f64::NEG_INFINITY;
        } else if proper.is_right_end(*vertex) {
            *value = f64::INFINITY;
        }
    }
    let bends = vertices
        .iter()
        .filter(|vertex| proper.row(**vertex).is_none());
    valued.extend(bends.map(|vertex| (barycentre(proper, *vertex, by).unwrap_or(0.0), *vertex)));
    let mut among: Vec<(f64, usize, usize)> = valued
        .into_iter()
        .map(|(value, vertex)| (value, proper.place(vertex), vertex))
        .collect();
    among.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
    among.into_iter().map(|(.., vertex)| vertex).collect()
}

/// Exchanges neighbours of a layer as long as that saves crossings.
fn exchange(proper: &mut Proper) {
    for _ in 0..EXCHANGES {
        let mut saved = false;
        for layer in 0..proper.layers.len() {
            for place in 1..proper.layers[layer].len() {
                let (one, other) = (proper.layers[layer][place - 1], proper.layers[layer][place]);
                if may_pass(proper, one, other) && saves(proper, one, other) {
                    proper.layers[layer].swap(place - 1, place);
                    proper.number(layer);
                    saved = true;
                }
            }
        }
        if !saved {
            return;
        }
    }
}

fn may_pass(proper: &Proper, one: usize, other: usize) -> bool {
    let both_fixed = proper.row(one).is_some() && proper.row(other).is_some();
    !both_fixed && !proper.is_left_end(one) && !proper.is_right_end(other)
}

/// Whether lines cross less often with the right one of two neighbours on the left.
fn saves(proper: &Proper, left: usize, right: usize) -> bool {
    let places = |vertices: &mut dyn Iterator<Item = usize>| -> Vec<usize> {
        vertices.map(|vertex| proper.place(vertex)).collect()
    };
    let count = |left: &[usize], right: &[usize]| {
        let mut crossings = 0i64;
        for one in left {
            for other in right {
                crossings += i64::from(other < one) - i64::from(one < other);
            }
        }
        crossings
    };
    let above = [left, right].map(|vertex| places(&mut proper.uppers(vertex)));
    let below = [left, right].map(|vertex| places(&mut proper.lowers(vertex)));
    0 < count(&above[0], &above[1]) + count(&below[0], &below[1])
}

/// How often lines cross between all layers.
pub(super) fn crossings(proper: &Proper) -> usize {
    (1..proper.layers.len())
        .map(|lower| crossings_above(proper, lower))
        .sum()
}

/// The inversions of the places of upper ends, in the order of the lower ends, counted in a
/// tree of sums.
fn crossings_above(proper: &Proper, lower: usize) -> usize {
    let mut tree = vec![0usize; proper.layers[lower - 1].len() + 1];
    let (mut crossings, mut counted) = (0, 0);
    for vertex in &proper.layers[lower] {
        let mut places: Vec<usize> = proper.uppers(*vertex).map(|v| proper.place(v)).collect();
        places.sort_unstable();
        for place in &places {
            let mut up_to = 0;
            let mut at = place + 1;
            while 0 < at {
                up_to += tree[at];
                at &= at - 1;
            }
            crossings += counted - up_to;
        }
        for place in places {
            let mut at = place + 1;
            while at < tree.len() {
                tree[at] += 1;
                at += at & at.wrapping_neg();
            }
            counted += 1;
        }
    }
    crossings
}
