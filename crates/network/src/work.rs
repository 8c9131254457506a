//! How much was computed, as a plain value that tests can hold on to.

use std::ops::{Add, AddAssign};

/// Counts of the costly steps, each for eight samples at once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Elimination orders made.
    pub orderings: u64,
    /// Batches factored.
    pub factorings: u64,
    /// Causes answered by low-rank update.
    pub updates: u64,
    /// Of these, the ones that needed twice the precision.
    pub doubled: u64,
    /// Causes answered by factoring again.
    pub refactorings: u64,
    /// Correction steps made while solving.
    pub refinements: u64,
}

impl AddAssign for Work {
    fn add_assign(&mut self, other: Self) {
        self.orderings += other.orderings;
        self.factorings += other.factorings;
        self.updates += other.updates;
        self.doubled += other.doubled;
        self.refactorings += other.refactorings;
        self.refinements += other.refinements;
    }
}

impl Add for Work {
    type Output = Self;

    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl std::iter::Sum for Work {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), Add::add)
    }
}
