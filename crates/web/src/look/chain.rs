//! The chain as a one-line drawing: one row a place, a gutter in front of it in which the line runs on.
//!
//! Rows and not one big picture, so that it reads at any width and any size of letters, 500 outlets long too. A branch
//! steps one lane to the right; what is plugged in always does. Geometry only: nothing here knows what a verdict means.

use maud::{Markup, html};
use site::finding::Verdict;

use super::shape;
use super::symbol::Symbol;

/// What a row says.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its symbol.
    pub symbol: Symbol,
    /// Name as people call it.
    pub name: String,
    /// What else is known, short.
    pub more: String,
    /// Worst verdict there; `None` where nothing was read.
    pub verdict: Option<Verdict>,
    /// Whether a verdict belongs there at all.
    pub judged: Judged,
    /// Its own page.
    pub href: Option<String>,
}

/// Whether a row carries a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    /// It does, or says that nothing was read.
    Yes,
    /// It does as soon as the visit is read.
    Soon,
    /// No: it stands there for the drawing only.
    No,
}

/// A place in a tree: the first is what feeds the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// What it says.
    pub place: Place,
    /// The earlier node that feeds it; `None` for the first.
    pub before: Option<usize>,
    /// By fixed cable, or by a cord that is plugged in.
    pub by: By,
}

/// How a place hangs on the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Fixed cable.
    Cable,
    /// A cord.
    Cord,
}

/// Most lanes a gutter has; deeper branches stay in the last one, and the words tell what they follow.
const LANES: usize = 4;

/// One row, laid out.
#[derive(Clone, Debug, PartialEq)]
struct Row {
    node: usize,
    lane: usize,
    /// Lanes that run through from top to bottom.
    through: Vec<usize>,
    /// Where its line comes from: straight from above, or out of another lane that ends here or runs on.
    from: From,
    /// Whether its own lane runs on below.
    onward: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum From {
    Nothing,
    Above,
    Lane { lane: usize, ends: bool },
}

/// Rows in drawing order: side branches first, the longest run last and straight on.
fn laid_out(nodes: &[Node]) -> Vec<Row> {
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    let mut size = vec![1usize; nodes.len()];
    for (n, node) in nodes.iter().enumerate().rev() {
        if let Some(before) = node.before.filter(|it| *it < n) {
            children[before].push(n);
            size[before] += size[n];
        }
    }
    for list in &mut children {
        // a cord is a side branch; among the rest the longest comes last
        list.sort_by_key(|n| (nodes[*n].by == By::Cable, size[*n], *n));
    }
    let mut rows = Vec::with_capacity(nodes.len());
    let roots = (0..nodes.len()).filter(|n| nodes[*n].before.is_none_or(|it| it >= *n));
    let mut open: Vec<(usize, usize, From, Vec<usize>)> =
        roots.map(|n| (n, 0, From::Nothing, Vec::new())).collect();
    open.reverse();
    while let Some((n, lane, from, through)) = open.pop() {
        let list = &children[n];
        let mut next = Vec::new();
        for (i, child) in list.iter().enumerate() {
            let last = i + 1 == list.len();
            let straight = last && nodes[*child].by == By::Cable;
            let side = (lane + 1).min(LANES - 1);
            next.push(if straight || side == lane {
                (*child, lane, From::Above, through.clone())
            } else {
                let mut beside = through.clone();
                if !last {
                    beside.push(lane);
                }
                (*child, side, From::Lane { lane, ends: last }, beside)
            });
        }
        let onward = !list.is_empty();
        rows.push(Row {
            node: n,
            lane,
            through,
            from,
            onward,
        });
        open.extend(next.into_iter().rev());
    }
    rows
}

fn x(lane: usize) -> usize {
    20 + 20 * lane
}

/// The drawing of a tree.
pub fn chain(nodes: &[Node]) -> Markup {
    let rows = laid_out(nodes);
    let lanes = rows.iter().map(|it| it.lane + 1).max().unwrap_or(1);
    html! {
        ol .chain {
            @for row in &rows { (drawn(row, &nodes[row.node], lanes)) }
        }
    }
}

fn drawn(row: &Row, node: &Node, lanes: usize) -> Markup {
    let width = x(lanes - 1) + 20;
    let at = x(row.lane);
    let cord = if node.by == By::Cord { "cord" } else { "" };
    let plugged = matches!(
        node.place.symbol,
        Symbol::Ups | Symbol::Machine | Symbol::Load | Symbol::Protector | Symbol::Line
    );
    html! {
        li .plugged[plugged] {
            span class={ "gutter g" (lanes) } {
                svg viewBox=(format!("0 0 {width} 100")) preserveAspectRatio="none" aria-hidden="true" {
                    @for lane in &row.through { path .run d=(format!("M{} 0V100", x(*lane))) {} }
                    @match row.from {
                        From::Nothing if node.place.symbol != Symbol::Breaker => {}
                        // a circuit hangs on the bar above it
                        From::Nothing | From::Above => path class={ "run " (cord) } d=(format!("M{at} 0V50")) {},
                        From::Lane { lane, ends } => {
                            @if ends { path .run d=(format!("M{} 0V50", x(lane))) {} }
                            path class={ "run " (cord) } d=(format!("M{} 50H{at}", x(lane))) {}
                        }
                    }
                    @if row.onward { path .run d=(format!("M{at} 50V100")) {} }
                }
                svg viewBox=(format!("0 -28 {width} 56")) aria-hidden="true" { (node.place.symbol.at(at as f64, 0.0)) }
            }
            (words(&node.place))
        }
    }
}

fn words(it: &Place) -> Markup {
    let inside = html! {
        span {
            span .name { (it.name) }
            @if !it.more.is_empty() { span .more { (it.more) } }
        }
        @match it.judged {
            Judged::Yes => (shape::verdict_or_untold(it.verdict)),
            Judged::Soon => span .verdict .untold { "being read" },
            Judged::No => {}
        }
    };
    html! {
        @match &it.href {
            Some(href) => a .place href=(href) { (inside) },
            None => div .place { (inside) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(edges: &[(Option<usize>, By)]) -> Vec<Node> {
        let place = |n: usize| Place {
            symbol: Symbol::Outlet { earth: true },
            name: format!("p{n}"),
            more: String::new(),
            verdict: None,
            judged: Judged::Yes,
            href: None,
        };
        let node = |(n, (before, by)): (usize, &(Option<usize>, By))| Node {
            place: place(n),
            before: *before,
            by: *by,
        };
        edges.iter().enumerate().map(node).collect()
    }

    #[test]
    fn a_daisy_chain_is_one_straight_line() {
        let nodes = tree(&[
            (None, By::Cable),
            (Some(0), By::Cable),
            (Some(1), By::Cable),
        ]);
        let rows = laid_out(&nodes);
        assert!(rows.iter().all(|it| it.lane == 0), "{rows:?}");
        assert_eq!(rows[0].from, From::Nothing);
        assert!(!rows[2].onward);
    }

    #[test]
    fn what_is_plugged_in_steps_aside_and_the_line_runs_on() {
        let nodes = tree(&[
            (None, By::Cable),
            (Some(0), By::Cable),
            (Some(1), By::Cord),
            (Some(1), By::Cable),
        ]);
        let rows = laid_out(&nodes);
        let order: Vec<usize> = rows.iter().map(|it| it.node).collect();
        assert_eq!(order, [0, 1, 2, 3]);
        assert_eq!(rows[2].lane, 1);
        assert_eq!(rows[2].through, [0]);
        assert_eq!((rows[3].lane, rows[3].from), (0, From::Above));
    }

    /// Every node once, whoever feeds it before it, the line never broken: what runs on in one row arrives in the next.
    #[test]
    fn prop_any_tree_is_drawn_whole() {
        let mut rng = fastrand::Rng::with_seed(7);
        for _ in 0..500 {
            let n = rng.usize(1..40);
            let edges: Vec<(Option<usize>, By)> = (0..n)
                .map(|i| {
                    let before = (i > 0).then(|| rng.usize(0..i));
                    (
                        before,
                        if rng.u8(0..3) == 0 {
                            By::Cord
                        } else {
                            By::Cable
                        },
                    )
                })
                .collect();
            let nodes = tree(&edges);
            let rows = laid_out(&nodes);
            let mut place = vec![usize::MAX; n];
            for (at, row) in rows.iter().enumerate() {
                place[row.node] = at;
            }
            assert!(place.iter().all(|it| *it < n) && rows.len() == n);
            for (i, (before, _)) in edges.iter().enumerate() {
                assert!(before.is_none_or(|it| place[it] < place[i]));
            }
            for pair in rows.windows(2) {
                let mut below: Vec<usize> = pair[0].through.clone();
                below.extend(pair[0].onward.then_some(pair[0].lane));
                let mut above: Vec<usize> = pair[1].through.clone();
                match pair[1].from {
                    From::Nothing => {}
                    From::Above => above.push(pair[1].lane),
                    From::Lane { lane, ends: true } => above.push(lane),
                    From::Lane { .. } => {}
                }
                below.sort_unstable();
                below.dedup();
                above.sort_unstable();
                above.dedup();
                // branches deeper than the last lane share it
                if rows.iter().all(|it| it.lane + 1 < LANES) {
                    assert_eq!(below, above, "{edges:?}\n{rows:#?}");
                }
            }
        }
    }
}
