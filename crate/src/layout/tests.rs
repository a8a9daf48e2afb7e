//! Layouts held against what can be seen of any: nothing overlaps, a kerf lies between, straight cuts take it apart.

use super::*;
use proptest::prelude::*;

fn lot(items: &[(u32, [f64; 2], bool)], board: [f64; 2], kerf: f64) -> Lot {
    let copies = |(part, &(n, size, turns)): (usize, &(u32, [f64; 2], bool))| {
        (0..n).map(move |copy| Item { part: part as u32 + 1, copy, size, turns }).collect::<Vec<_>>()
    };
    let items = items.iter().enumerate().flat_map(copies).collect();
    Lot { items, boards: vec![board], kerf, ..Lot::default() }
}

fn lay(lot: &Lot) -> Laid {
    let mut laying = Laying::new(vec![lot.clone()]).unwrap();
    loop {
        let p = laying.step();
        if p.done >= p.of {
            break;
        }
    }
    laying.laid().remove(0)
}

/// Everything that must be so.
fn look(lot: &Lot, laid: &Laid) {
    let mut seen: Vec<usize> = laid.left.clone();
    for board in &laid.boards {
        let rect = |p: &Placed| Rect { at: p.at, over: p.over };
        for (i, p) in board.placed.iter().enumerate() {
            seen.push(p.item);
            let [a, b] = lot.items[p.item].size;
            assert_eq!(p.over, if p.turned { [b, a] } else { [a, b] });
            for k in 0..2 {
                assert!(p.at[k] > -1e-6 && rect(p).end(k) < board.size[k] + 1e-6, "{p:?}");
            }
            let grown = Rect { at: p.at, over: p.over.map(|v| v + lot.kerf - 1e-6) };
            for q in &board.placed[i + 1..] {
                let other = Rect { at: q.at, over: q.over.map(|v| v + lot.kerf - 1e-6) };
                assert!(!grown.meets(&other), "{p:?} {q:?}");
            }
            for s in &board.spots {
                assert!(!rect(p).meets(&Rect { at: s.at, over: s.over }), "{p:?} {s:?}");
            }
        }
        assert!(cuts(board, lot.kerf).is_some(), "{board:?}");
    }
    seen.sort_unstable();
    assert_eq!(seen, (0..lot.items.len()).collect::<Vec<_>>());
}

/// By hand: five pieces of 30 in. Two boards at hand of 64 take two each, so one of 96 is bought for the fifth; with three at hand
/// none is.
#[test]
fn what_is_at_hand_is_used_first() {
    let mut lot = lot(&[(5, [30.0, 5.5], false)], [96.0, 5.5], 0.125);
    let counts = |lot: &Lot| {
        let laid = lay(lot);
        look(lot, &laid);
        [true, false].map(|hand| laid.boards.iter().filter(|b| b.at_hand == hand).count())
    };
    for (many, want) in [(0, [0, 2]), (1, [1, 1]), (2, [2, 1]), (3, [3, 0]), (9, [3, 0])] {
        lot.at_hand = vec![([64.0, 5.5], many)];
        assert_eq!(counts(&lot), want, "{many} at hand");
    }
    // Of several sizes the one that is filled: 62 holds two, 31 one.
    lot.at_hand = vec![([31.0, 5.5], 1), ([61.0, 5.5], 2)];
    assert_eq!(counts(&lot), [3, 0]);
    // What only fits the one that is there, and there is but one of those: the other is told.
    lot.items = (0..2).map(|copy| Item { part: 1, copy, size: [100.0, 5.5], turns: false }).collect();
    lot.at_hand = vec![([120.0, 5.5], 1)];
    let laid = lay(&lot);
    look(&lot, &laid);
    assert_eq!((laid.boards.len(), laid.left.len()), (1, 1));
    // Sheets as well: four of 40 × 20 on one of 81 × 41 that is there.
    lot.items = (0..4).map(|copy| Item { part: 1, copy, size: [40.0, 20.0], turns: true }).collect();
    lot.boards = vec![[96.0, 48.0]];
    lot.at_hand = vec![([81.0, 41.0], 1)];
    assert_eq!(counts(&lot), [1, 0]);
    // A bad spot on the one that is there: it is still one of those.
    lot.spots = vec![Spot { board: 0, size: [81.0, 41.0], at: [0.0, 0.0], over: [81.0, 20.0] }];
    assert_eq!(counts(&lot), [1, 1]);
}

/// By hand: four pieces of 24 in less the kerf fill a board of 8 ft; a fifth needs another.
#[test]
fn a_kerf_is_counted() {
    let board = [96.0, 5.5];
    let many = |length: f64, n: u32| lay(&lot(&[(n, [length, 5.5], false)], board, 0.125)).boards.len();
    assert_eq!([many(23.9, 4), many(24.0, 4), many(23.9, 5)], [1, 2, 2]);
    assert_eq!(many(23.906_25, 4), 1, "the three kerfs between are all there is to lose");
}

#[test]
fn what_is_larger_than_any_board_is_left() {
    let laid = lay(&lot(&[(1, [10.0, 7.0], false), (2, [3.0, 2.0], false)], [8.0, 8.0], 0.1));
    assert_eq!((laid.left, laid.boards.len()), (vec![0], 1));
    // Turned it would fit.
    let turned = lay(&lot(&[(1, [7.0, 10.0], true)], [10.0, 8.0], 0.1));
    assert!(turned.left.is_empty() && turned.boards[0].placed[0].turned);
}

#[test]
fn pins_stay_and_the_rest_goes_round_them_and_round_spots() {
    let mut lot = lot(&[(6, [30.0, 20.0], false)], [100.0, 50.0], 1.0);
    let size = lot.boards[0];
    lot.pins.push(Pin { part: 1, copy: 3, board: 0, size, at: [35.0, 10.0], turned: false });
    lot.spots.push(Spot { board: 0, size, at: [80.0, 0.0], over: [5.0, 5.0] });
    let laid = lay(&lot);
    look(&lot, &laid);
    let pinned: Vec<_> = laid.boards[0].placed.iter().filter(|p| p.pinned).map(|p| (p.item, p.at)).collect();
    assert_eq!(pinned, [(3, [35.0, 10.0])]);
    // Over another pin, over the edge, on a spot: laid elsewhere, and told.
    for at in [[40.0, 12.0], [75.0, 2.0], [60.0, 20.0]] {
        let mut lot = lot.clone();
        lot.pins.push(Pin { part: 1, copy: 0, board: 0, size, at, turned: false });
        let laid = lay(&lot);
        look(&lot, &laid);
        assert_eq!(laid.unpinned, [0], "{at:?}");
    }
}

#[test]
fn a_piece_put_near_an_edge_lies_at_it() {
    let mut lot = lot(&[(2, [30.0, 20.0], false)], [100.0, 50.0], 1.0);
    let pin = |copy, at| Pin { part: 1, copy, board: 0, size: [100.0, 50.0], at, turned: false };
    lot.pins = vec![pin(0, [-3.0, 29.2]), pin(1, [31.8, 15.0])];
    let laid = lay(&lot);
    look(&lot, &laid);
    let at: Vec<_> = laid.boards[0].placed.iter().map(|p| p.at).collect();
    assert_eq!(at, [[0.0, 30.0], [31.0, 15.0]]);
}

/// Four pieces round a hole like sails of a mill: no straight cut gets them out.
#[test]
fn a_pinwheel_is_not_cut() {
    let mut lot = lot(&[(4, [6.0, 4.0], true)], [11.0, 11.0], 1.0);
    let size = lot.boards[0];
    let sails = [([0.0, 0.0], false), ([7.0, 0.0], true), ([5.0, 7.0], false), ([0.0, 5.0], true)];
    for (copy, (at, turned)) in (0..).zip(sails) {
        lot.pins.push(Pin { part: 1, copy, board: 0, size, at, turned });
    }
    let laid = lay(&lot);
    look(&lot, &laid);
    assert_eq!(laid.unpinned, [3]);
}

#[test]
fn what_is_no_lot_says_why() {
    let good = lot(&[(1, [10.0, 7.0], false)], [20.0, 20.0], 0.1);
    let why = |lot: Lot| Laying::new(vec![lot]).unwrap_err().key;
    assert_eq!(why(Lot { kerf: f64::NAN, ..good.clone() }), "layout.kerf");
    assert_eq!(why(Lot { boards: vec![[0.0, 3.0]], ..good.clone() }), "layout.board");
    let many = (0..4000).map(|copy| Item { copy, ..good.items[0] }).collect();
    assert_eq!(why(Lot { items: many, ..good }), "layout.many");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn any_layout_can_be_cut(
        sizes in prop::collection::vec((1u32..4, 1.0..60.0f64, 1.0..30.0f64, any::<bool>()), 1..12),
        kerf in 0.0..2.0f64,
        pin in (0.0..90.0f64, 0.0..40.0f64),
        spot in (0.0..90.0f64, 0.0..40.0f64, 0.1..20.0f64, 0.1..20.0f64),
    ) {
        let items: Vec<_> = sizes.iter().map(|&(n, a, b, t)| (n, [a, b], t)).collect();
        let mut lot = lot(&items, [100.0, 50.0], kerf);
        let size = lot.boards[0];
        lot.pins.push(Pin { part: 1, copy: 0, board: 1, size, at: [pin.0, pin.1], turned: false });
        lot.spots.push(Spot { board: 0, size, at: [spot.0, spot.1], over: [spot.2, spot.3] });
        let mut laying = Laying::new(vec![lot.clone()]).unwrap();
        laying.step();
        look(&lot, &laying.laid()[0]);
    }
}
