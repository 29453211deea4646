//! Block brakes: braked weight from block force. Source: the code of a public longitudinal train
//! dynamics research program, which attributes the formulas to UIC leaflet 544-1; the example of
//! sixteen holders is constructed.

use crate::published::close;
use domain::braking::block_brake::{Block, BlockRigging};

#[test]
fn the_curves_end_where_the_program_limits_them() {
    for (block, force, k, braked_t) in [
        (Block::Bg, 5.0, 1.894_83, 0.9658),
        (Block::Bg, 10.0, 1.679_64, 1.7122),
        (Block::Bg, 40.0, 0.897_96, 3.6614),
        (Block::Bgu, 5.0, 1.900_04, 0.9684),
        (Block::Bgu, 30.0, 1.180_72, 3.6108),
        (Block::Bgu, 55.0, 0.821_90, 4.6080),
    ] {
        // Two of the figures lie half-way between five digits.
        close(block.k(force).unwrap(), k, 6e-6);
        close(block.braked_weight_t(force, 1).unwrap(), braked_t, 5e-5);
    }
    assert_eq!(Block::Bg.k(40.1), None);
    assert_eq!(Block::Bgu.k(4.9), None);
}

#[test]
fn half_the_holders_with_unchanged_pressure_give_half_the_braked_weight() {
    let rigging = BlockRigging {
        pressure_bar: 3.8,
        area_cm2: 1295.0,
        ratio: 11.87,
        axles: 4,
    };
    close(rigging.force_kn(), 456.764, 5e-4);
    let each = rigging.force_kn() / 16.0;
    close(each, 28.548, 5e-4);
    close(Block::Bgu.k(each).unwrap(), 1.207_18, 5e-6);
    let all = Block::Bgu.braked_weight_t(each, 16).unwrap();
    let half = Block::Bgu.braked_weight_t(each, 8).unwrap();
    close(all, 56.21, 0.005);
    close(half, 28.10, 0.005);
}
