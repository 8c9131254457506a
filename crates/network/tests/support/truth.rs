//! Dense solution of the nodal equations in double-double arithmetic (about 32 digits): the matrix is formed and
//! eliminated in a way that shares nothing with the crate. Good to 1e-32 times the condition of the matrix, which is
//! 1e16 at the worst here (1e4 S beside 1e-12 S): 16 digits.

use network::{NodeIx, Topology};
use num_complex::Complex64;
use std::ops::{Add, Div, Mul, Neg, Sub};

#[derive(Clone, Copy, Debug, Default)]
pub struct Dd(pub f64, pub f64);

fn two_sum(a: f64, b: f64) -> Dd {
    let s = a + b;
    let t = s - a;
    Dd(s, (a - (s - t)) + (b - t))
}

impl Add for Dd {
    type Output = Self;
    fn add(self, b: Self) -> Self {
        let (s, t) = (two_sum(self.0, b.0), two_sum(self.1, b.1));
        let it = two_sum(s.0, s.1 + t.0);
        two_sum(it.0, it.1 + t.1)
    }
}

impl Neg for Dd {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0, -self.1)
    }
}

impl Sub for Dd {
    type Output = Self;
    fn sub(self, b: Self) -> Self {
        self + -b
    }
}

impl Mul for Dd {
    type Output = Self;
    fn mul(self, b: Self) -> Self {
        let p = self.0 * b.0;
        // The library's fma is exact, in software if need be.
        let e = self.0.mul_add(b.0, -p);
        two_sum(p, e + (self.0 * b.1 + self.1 * b.0))
    }
}

impl Div for Dd {
    type Output = Self;
    fn div(self, b: Self) -> Self {
        let q = self.0 / b.0;
        let rest = self - b * Self(q, 0.0);
        let more = rest.0 / b.0;
        let rest = rest - b * Self(more, 0.0);
        Self(q, 0.0) + Self(more, 0.0) + Self(rest.0 / b.0, 0.0)
    }
}

/// Complex of double-doubles.
#[derive(Clone, Copy, Debug, Default)]
pub struct C(pub Dd, pub Dd);

impl From<Complex64> for C {
    fn from(z: Complex64) -> Self {
        Self(Dd(z.re, 0.0), Dd(z.im, 0.0))
    }
}

impl Add for C {
    type Output = Self;
    fn add(self, b: Self) -> Self {
        Self(self.0 + b.0, self.1 + b.1)
    }
}

impl Sub for C {
    type Output = Self;
    fn sub(self, b: Self) -> Self {
        Self(self.0 - b.0, self.1 - b.1)
    }
}

impl Mul for C {
    type Output = Self;
    fn mul(self, b: Self) -> Self {
        Self(self.0 * b.0 - self.1 * b.1, self.0 * b.1 + self.1 * b.0)
    }
}

impl Div for C {
    type Output = Self;
    #[allow(clippy::suspicious_arithmetic_impl)]
    fn div(self, b: Self) -> Self {
        let n = b.0 * b.0 + b.1 * b.1;
        let it = self * Self(b.0, -b.1);
        Self(it.0 / n, it.1 / n)
    }
}

impl C {
    pub fn plain(self) -> Complex64 {
        Complex64::new(self.0.0, self.1.0)
    }
}

/// The inverse of `Y` in full, and the voltages.
pub struct Truth {
    z: Vec<Vec<C>>,
    v: Vec<C>,
}

impl Truth {
    pub fn of(topology: &Topology, y: &[Complex64], emf: &[Complex64]) -> Self {
        let n = topology.n_nodes();
        let mut m = vec![vec![C::default(); 2 * n + 1]; n];
        for ((&(a, b), &y), &e) in topology.branches().iter().zip(y).zip(emf) {
            let (y, j) = (C::from(y), C::from(y) * C::from(e));
            for (at, other, j) in [(a, b, j), (b, a, C::default() - j)] {
                if at != NodeIx::DATUM {
                    let row = at.index() - 1;
                    m[row][row] = m[row][row] + y;
                    m[row][2 * n] = m[row][2 * n] + j;
                    if other != NodeIx::DATUM {
                        m[row][other.index() - 1] = m[row][other.index() - 1] - y;
                    }
                }
            }
        }
        for (row, it) in m.iter_mut().enumerate() {
            it[n + row] = C::from(Complex64::ONE);
        }
        for k in 0..n {
            let best =
                (k..n).max_by(|&a, &b| m[a][k].plain().norm().total_cmp(&m[b][k].plain().norm()));
            m.swap(k, best.expect("a row is left"));
            let pivot = m[k].clone();
            for (row, it) in m.iter_mut().enumerate() {
                if row != k && it[k].plain() != Complex64::ZERO {
                    let l = it[k] / pivot[k];
                    for (it, &pivot) in it.iter_mut().zip(&pivot).skip(k) {
                        if pivot.plain() != Complex64::ZERO {
                            *it = *it - l * pivot;
                        }
                    }
                }
            }
        }
        for (k, row) in m.iter_mut().enumerate() {
            let pivot = row[k];
            for it in &mut row[n..] {
                *it = *it / pivot;
            }
        }
        let v = m.iter().map(|row| row[2 * n]).collect();
        Self {
            z: m.into_iter().map(|row| row[n..2 * n].to_vec()).collect(),
            v,
        }
    }

    fn at(values: &[C], node: NodeIx) -> C {
        if node == NodeIx::DATUM {
            C::default()
        } else {
            values[node.index() - 1]
        }
    }

    pub fn volts(&self, plus: NodeIx, minus: NodeIx) -> Complex64 {
        (Self::at(&self.v, plus) - Self::at(&self.v, minus)).plain()
    }

    pub fn ohms(&self, p: (NodeIx, NodeIx), q: (NodeIx, NodeIx)) -> Complex64 {
        let of = |node: NodeIx| {
            if node == NodeIx::DATUM {
                return C::default();
            }
            let row = &self.z[node.index() - 1];
            Self::at(row, q.0) - Self::at(row, q.1)
        };
        (of(p.0) - of(p.1)).plain()
    }
}
