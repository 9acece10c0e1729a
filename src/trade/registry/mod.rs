//! Every relation that formulas can call and the bench can ask for, one file a group.
//!
//! Adding one here is all it takes: `pintle calc` and the formula language read nothing else.

mod batteries;
mod battery_state;
mod eyes;
mod leaf;
mod loop_tests;
mod loops;
mod mains;
mod meters;
mod motion;
mod places;
mod radio;
mod radio_path;
mod safety;
mod solar;
mod solar_year;
mod wire;

use super::function::Function;

/// Relations of one part of the trade.
#[derive(Debug)]
pub struct Group {
    /// Its name in lists.
    pub title: &'static str,
    /// Its relations.
    pub functions: &'static [Function],
}

static GROUPS: [Group; 16] = [
    group("Wire", &wire::FUNCTIONS),
    group("Mains, transformer, charger, fuse", &mains::FUNCTIONS),
    group("Batteries (lead-acid)", &batteries::FUNCTIONS),
    group("Acid, cold and age of a battery", &battery_state::FUNCTIONS),
    group("Solar", &solar::FUNCTIONS),
    group("Year of sun", &solar_year::FUNCTIONS),
    group("Loops", &loops::FUNCTIONS),
    group("Insulation, turns and place of a loop", &loop_tests::FUNCTIONS),
    group("Radio", &radio::FUNCTIONS),
    group("Path, noise and power of a remote", &radio_path::FUNCTIONS),
    group("Leaf, arm, hinges, wind", &leaf::FUNCTIONS),
    group("Motion and motor", &motion::FUNCTIONS),
    group("Force limits and inputs", &safety::FUNCTIONS),
    group("Eyes and clocks", &eyes::FUNCTIONS),
    group("Gaps and places (US)", &places::FUNCTIONS),
    group("Meters", &meters::FUNCTIONS),
];

const fn group(title: &'static str, functions: &'static [Function]) -> Group {
    Group { title, functions }
}

/// Relations by group.
pub fn groups() -> impl Iterator<Item = &'static Group> {
    GROUPS.iter()
}

/// What formulas can call, besides the plain functions.
pub fn functions() -> impl Iterator<Item = &'static Function> {
    GROUPS.iter().flat_map(|g| g.functions)
}

fn arg(args: &[f64], i: usize) -> f64 {
    args.get(i).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::super::function::Held;
    use super::*;
    use crate::quantity::{Unit, parse_reading};

    fn example(function: &Function) -> Vec<f64> {
        let number = |p: &super::super::Parameter| {
            let reading = parse_reading(p.example, p.unit);
            let reading = reading.unwrap_or_else(|e| panic!("{} {}: {e}", function.subject, p.name));
            reading.value().unwrap()
        };
        function.inputs().map(number).collect()
    }

    #[test]
    fn every_function_can_be_written_and_says_where_it_comes_from() {
        let all: Vec<&Function> = functions().collect();
        for (i, f) in all.iter().enumerate() {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
            assert!(f.name.chars().all(|c| plain(c) || c == '_'), "{}", f.name);
            assert!(f.subject.chars().all(|c| plain(c) || c == '-'), "{}", f.subject);
            let other = all[..i].iter().find(|g| g.name == f.name || g.subject == f.subject);
            assert!(other.is_none(), "{} is there twice", f.name);
            for text in [f.about, f.formula, f.source] {
                assert!(!text.is_empty(), "{}", f.name);
            }
            if let Some(limit) = &f.limit {
                assert!(!limit.about.is_empty() && !limit.source.is_empty(), "{}", f.name);
                if let Held::Input(name) = limit.of {
                    assert!(f.inputs().any(|p| p.name == name), "{}: {name}", f.name);
                }
            }
            let mut names: Vec<&str> = f.inputs().map(|p| p.name).collect();
            names.sort_unstable();
            names.dedup();
            assert_eq!(names.len(), f.inputs().count(), "{}: a name twice", f.name);
        }
    }

    #[test]
    fn those_with_a_usual_value_come_last_and_it_is_in_range() {
        for f in functions() {
            let first = f
                .params
                .iter()
                .position(|p| p.usual.is_some())
                .unwrap_or(f.params.len());
            assert!(f.params[first..].iter().all(|p| p.usual.is_some()), "{}", f.name);
            for p in f.inputs() {
                assert!(p.low < p.high, "{} {}", f.name, p.name);
                assert!(
                    p.usual.is_none_or(|v| (p.low..=p.high).contains(&v)),
                    "{} {}",
                    f.name,
                    p.name
                );
            }
        }
    }

    /// The ranges that are told are those that the functions hold.
    #[test]
    fn every_example_works_and_beyond_every_range_is_refused() {
        for f in functions() {
            let args = example(f);
            let own = &args[..f.params.len()];
            let result = f.work_out(own).unwrap_or_else(|e| panic!("{}: {e}", f.subject));
            assert!(result.is_finite(), "{}", f.subject);
            for (i, p) in f.params.iter().enumerate() {
                let told = (p.low..=p.high).contains(&args[i]);
                assert!(told, "{} {}: {}", f.subject, p.name, args[i]);
                let span = (p.high - p.low).min(1e6);
                for beyond in [p.low - 1e-3 * span, p.high + 1e-3 * span, f64::NAN] {
                    let mut wrong = own.to_vec();
                    wrong[i] = beyond;
                    let refused = (f.call)(&wrong).is_err() || beyond.is_infinite();
                    assert!(refused, "{} {}: takes {beyond}", f.subject, p.name);
                }
            }
            if let Some(limit) = &f.limit {
                let (low, high) = (limit.bounds)(&args, result);
                assert!(low <= high, "{}: {low} to {high}", f.subject);
            }
        }
    }

    #[test]
    fn a_missing_argument_is_refused_unless_it_has_a_usual_value() {
        for f in functions() {
            assert!(f.work_out(&[]).is_err(), "{}", f.name);
            let args = example(f);
            assert!(f.work_out(&args[..f.required()]).is_ok(), "{}", f.name);
            assert!(f.work_out(&args[..f.required() - 1]).is_err(), "{}", f.name);
        }
    }

    #[test]
    fn a_drop_at_the_usual_temperature() {
        let drop = functions().find(|f| f.subject == "wire-drop").unwrap();
        assert_eq!(drop.gives, Unit::Volt);
        let (usual, told) = (
            drop.work_out(&[14.0, 120.0, 10.0]),
            drop.work_out(&[14.0, 120.0, 10.0, 20.0]),
        );
        assert_eq!(usual, told);
    }
}
