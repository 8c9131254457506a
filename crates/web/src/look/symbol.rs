//! Symbols of the chain, drawn by us after IEC 60617 (from memory): two linked circles a transformer, a cross on a
//! contact a circuit-breaker, a half-circle a socket-outlet, its bar the earth contact, arrows in a box a surge protector.

use maud::{Markup, html};

/// What stands in a row of the chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symbol {
    /// The supplier's transformer.
    Supply,
    /// A panel: its bar.
    Panel,
    /// The overcurrent device of a circuit.
    Breaker,
    /// An outlet; with or without an earth contact.
    Outlet {
        /// Whether it has one.
        earth: bool,
    },
    /// A UPS.
    Ups,
    /// A machine.
    Machine,
    /// Another load.
    Load,
    /// A protector against surges.
    Protector,
    /// A telephone, coax or network line.
    Line,
}

impl Symbol {
    /// In a word, for those who do not see it.
    pub fn says(self) -> &'static str {
        match self {
            Symbol::Supply => "supply",
            Symbol::Panel => "panel",
            Symbol::Breaker => "circuit-breaker",
            Symbol::Outlet { .. } => "outlet",
            Symbol::Ups => "UPS",
            Symbol::Machine => "machine",
            Symbol::Load => "load",
            Symbol::Protector => "surge protector",
            Symbol::Line => "line",
        }
    }

    /// The symbol around a point, about 20 units wide and high.
    pub fn at(self, x: f64, y: f64) -> Markup {
        let place = format!("translate({x} {y})");
        html! {
            g .symbol transform=(place) {
                @match self {
                    Symbol::Supply => {
                        circle .blank cx="0" cy="-5" r="7" {}
                        circle cx="0" cy="5" r="7" {}
                    }
                    Symbol::Panel => { rect .solid x="-13" y="-3.5" width="26" height="7" {} }
                    Symbol::Breaker => {
                        rect .blank x="-7" y="-9" width="14" height="18" stroke="none" {}
                        path d="M0 -10v2M-3 -11l6 6M3 -11l-6 6M0 10v-3M0 7L-8 -6" {}
                    }
                    Symbol::Outlet { earth } => {
                        path d="M0 0h6M15 -9a9 9 0 0 0 0 18" {}
                        @if earth { path d="M6 -6v12" {} }
                    }
                    Symbol::Ups => {
                        rect .blank x="-9" y="-9" width="18" height="18" {}
                        path d="M-9 9L9 -9M-6 -4q1.5 -3 3 0t3 0M1 4.5h5M1 6.8h5" {}
                    }
                    Symbol::Machine => {
                        rect .blank x="-9" y="-8" width="18" height="12" {}
                        path d="M-4 8h8M0 4v4" {}
                    }
                    Symbol::Load => {
                        rect .blank x="-9" y="-5" width="18" height="10" {}
                    }
                    // two arrows towards each other in a box: what leads a surge away
                    Symbol::Protector => {
                        rect .blank x="-6" y="-11" width="12" height="22" {}
                        path d="M0 -11v8M-3 -6l3 4l3 -4M0 11v-8M-3 6l3 -4l3 4" {}
                    }
                    // a line that goes on to where the premises end
                    Symbol::Line => { path d="M-10 0h20M-3 5l6 -10M5 -4l5 4l-5 4" {} }
                }
            }
        }
    }
}
