//! What a number is counted in while a formula is worked out: the arithmetic of units.

use crate::quantity::{Dimension, Unit};

/// How a number counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Measure {
    /// Made of literals only: takes the unit of whatever stands beside it.
    Bare,
    /// Counted in units of some scale.
    Of(Scale),
}

/// `base = value · factor + offset`, where the offset is there only for points on a scale (°C, °F, dBm).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    pub dimension: Dimension,
    factor: f64,
    point: Option<f64>,
    /// The unit of the table, as long as this is one.
    pub unit: Option<Unit>,
}

/// What is done to a number so that it counts in another scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Change {
    None,
    /// Between two units of the table, as exactly as the table allows.
    Units(Unit, Unit),
    /// `new = old · times + plus`.
    Linear {
        times: f64,
        plus: f64,
    },
}

impl Change {
    pub(super) fn apply(self, value: f64) -> f64 {
        match self {
            Self::None => value,
            Self::Units(from, to) => from.express(value, to),
            Self::Linear { times, plus } => value * times + plus,
        }
    }
}

/// How two sides come together: the measure of the result, and what to do to each side first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Joined {
    pub measure: Measure,
    pub left: Change,
    pub right: Change,
}

/// Why two sides do not come together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mismatch {
    Dimension(Dimension, Dimension),
    /// A point on a scale against a difference of two such points.
    PointAndStep,
}

impl Scale {
    pub(super) fn of(unit: Unit) -> Self {
        let (dimension, factor) = (unit.dimension(), unit.factor());
        let point = if unit.has_zero_point() {
            Some(unit.to_base(0.0))
        } else {
            (unit == Unit::DecibelMilliwatt).then_some(0.0)
        };
        Self {
            dimension,
            factor,
            point,
            unit: Some(unit),
        }
    }

    fn made(dimension: Dimension, factor: f64) -> Self {
        let unit = Unit::all().find(|u| {
            let s = Self::of(*u);
            s.dimension == dimension && s.point.is_none() && alike(s.factor, factor)
        });
        Self {
            dimension,
            factor,
            point: None,
            unit,
        }
    }

    fn step(self) -> Self {
        Self {
            point: None,
            unit: if self.point.is_some() { None } else { self.unit },
            ..self
        }
    }

    /// From this scale to another of the same dimension; zero points count only if both have one.
    fn change_to(self, to: Self) -> Change {
        let (from_zero, to_zero) = match (self.point, to.point) {
            (Some(a), Some(b)) => (a, b),
            _ => (0.0, 0.0),
        };
        if alike(self.factor, to.factor) && alike(from_zero, to_zero) {
            return Change::None;
        }
        if let (Some(from), Some(into)) = (self.unit, to.unit)
            && self.point.is_some() == to.point.is_some()
        {
            return Change::Units(from, into);
        }
        Change::Linear {
            times: self.factor / to.factor,
            plus: (from_zero - to_zero) / to.factor,
        }
    }
}

/// Equal but for rounding.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

impl Measure {
    pub(super) fn dimension(self) -> Dimension {
        match self {
            Self::Bare => Dimension::NONE,
            Self::Of(scale) => scale.dimension,
        }
    }

    /// For comparison, choice, `min`, `max`, `clamp` and arguments: both sides in the unit of the left one.
    pub(super) fn alongside(self, other: Self) -> Result<Joined, Mismatch> {
        let (Self::Of(a), Self::Of(b)) = (self, other) else {
            return Ok(self.with_bare(other));
        };
        same_dimension(a, b)?;
        if a.point.is_some() != b.point.is_some() {
            return Err(Mismatch::PointAndStep);
        }
        Ok(Joined {
            measure: self,
            left: Change::None,
            right: b.change_to(a),
        })
    }

    /// For `+` and `-`.
    pub(super) fn plus(self, other: Self, minus: bool) -> Result<Joined, Mismatch> {
        let (Self::Of(a), Self::Of(b)) = (self, other) else {
            return Ok(self.with_bare(other));
        };
        same_dimension(a, b)?;
        let keep_left = |scale| Joined {
            measure: Self::Of(scale),
            left: Change::None,
            right: b.change_to(a),
        };
        match (a.point, b.point) {
            (Some(_), Some(_)) if minus => Ok(keep_left(a.step())),
            (None, Some(_)) if minus => Err(Mismatch::PointAndStep),
            (None, Some(_)) => Ok(Joined {
                measure: other,
                left: a.change_to(b),
                right: Change::None,
            }),
            _ => Ok(keep_left(a)),
        }
    }

    /// At most one side has a unit: the result has it.
    fn with_bare(self, other: Self) -> Joined {
        let measure = if self == Self::Bare { other } else { self };
        Joined {
            measure,
            left: Change::None,
            right: Change::None,
        }
    }

    /// For `*`: the measure of the product, and what to do to it.
    pub(super) fn times(self, other: Self) -> (Self, Change) {
        match (self, other) {
            (kept, Self::Bare) | (Self::Bare, kept) => (kept, Change::None),
            (Self::Of(a), Self::Of(b)) if b.is_plain() => (Self::Of(a), Change::None),
            (Self::Of(a), Self::Of(b)) if a.is_plain() => (Self::Of(b), Change::None),
            (Self::Of(a), Self::Of(b)) => combined(a.dimension.times(b.dimension), a.factor * b.factor),
        }
    }

    /// For `/`: the measure of the quotient, and what to do to it.
    pub(super) fn over(self, other: Self) -> (Self, Change) {
        match (self, other) {
            (kept, Self::Bare) => (kept, Change::None),
            (Self::Of(a), Self::Of(b)) if b.is_plain() && !a.dimension.is_none() => (Self::Of(a), Change::None),
            (Self::Bare, Self::Of(b)) => combined(Dimension::NONE.per(b.dimension), 1.0 / b.factor),
            (Self::Of(a), Self::Of(b)) => combined(a.dimension.per(b.dimension), a.factor / b.factor),
        }
    }

    /// For `sqrt`, or `None` where the root has no unit.
    pub(super) fn root(self) -> Option<(Self, Change)> {
        match self {
            Self::Bare => Some((Self::Bare, Change::None)),
            Self::Of(a) => a.dimension.root().map(|d| combined(d, a.factor.sqrt())),
        }
    }
}

impl Scale {
    fn is_plain(self) -> bool {
        self.dimension.is_none()
    }
}

fn same_dimension(a: Scale, b: Scale) -> Result<(), Mismatch> {
    if a.dimension == b.dimension {
        Ok(())
    } else {
        Err(Mismatch::Dimension(a.dimension, b.dimension))
    }
}

/// Where the dimensions cancel, prefixes must not be left behind.
fn combined(dimension: Dimension, factor: f64) -> (Measure, Change) {
    if dimension.is_none() {
        let change = if alike(factor, 1.0) {
            Change::None
        } else {
            Change::Linear {
                times: factor,
                plus: 0.0,
            }
        };
        return (Measure::Of(Scale::of(Unit::One)), change);
    }
    (Measure::Of(Scale::made(dimension, factor)), Change::None)
}
