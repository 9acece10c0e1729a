//! From characters to numbers: the part of reading typed text that knows nothing of what is expected.

/// A number as typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number {
    pub value: f64,
    /// Digits typed after the decimal mark.
    pub decimals: u8,
    /// What the last digit, or one part of the fraction, is worth.
    pub step: f64,
    /// Bottom of a fraction, `4` in `27 1/4`.
    pub fraction: Option<u32>,
}

/// A number and whatever was written after it, up to the next number.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Part {
    pub number: Number,
    pub unit: String,
}

/// Why the text is not a row of numbers and units.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Trouble {
    NotANumber,
    /// `1,200`: one thousand two hundred or one point two. The digits before and after the comma.
    Thousands(String, String),
    /// A bottom or top of a fraction that no ruler has.
    Fraction,
}

/// Signs, quotes, blanks and fraction characters as typed by phones and word processors, in plain form.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '\u{2212}' | '\u{2013}' | '\u{2012}' => out.push('-'),
            '\u{2019}' | '\u{2018}' | '\u{2032}' | '`' => out.push('\''),
            '\u{201d}' | '\u{201c}' | '\u{2033}' => out.push('"'),
            '\u{2044}' => out.push('/'),
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out.trim().to_owned()
}

/// Splits `5 ft 6 1/2 in` into (5, `ft`) and (6½, `in`). A sign may stand only in front of everything.
///
/// Returns whether the whole is negative, and at least one part.
pub(super) fn parts(text: &str) -> Result<(bool, Vec<Part>), Trouble> {
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let mut rest = text.trim_start();
    let mut out = Vec::new();
    while !rest.is_empty() {
        let (number, after) = number(rest)?;
        let end = after
            .char_indices()
            .find(|&(i, c)| c.is_ascii_digit() || (matches!(c, '.' | ',') && digit_follows(&after[i + 1..])))
            .map_or(after.len(), |(i, _)| i);
        out.push(Part {
            number,
            unit: after[..end].trim().to_owned(),
        });
        rest = &after[end..];
    }
    if out.is_empty() {
        Err(Trouble::NotANumber)
    } else {
        Ok((negative, out))
    }
}

fn digit_follows(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
}

fn take_digits(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

/// One number at the start of `text`, with a fraction if one follows, and what is left.
fn number(text: &str) -> Result<(Number, &str), Trouble> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    if let Some(bottom) = rest.strip_prefix('/') {
        let (bottom, rest) = take_digits(bottom);
        return Ok((fraction(digits, bottom)?, rest));
    }
    let whole = decimal(digits)?;
    // `27 1/2` and the carpenter's `27-1/2`
    if let Some(next) = rest.strip_prefix(['-', ' ']) {
        let (top, after) = take_digits(next.trim_start());
        if let Some(bottom) = after.strip_prefix('/').filter(|_| !top.is_empty()) {
            let (bottom, rest) = take_digits(bottom);
            let part = fraction(top, bottom)?;
            if whole.decimals > 0 || part.value >= 1.0 {
                return Err(Trouble::Fraction);
            }
            return Ok((
                Number {
                    value: whole.value + part.value,
                    ..part
                },
                rest,
            ));
        }
    }
    Ok((whole, rest))
}

fn fraction(top: &str, bottom: &str) -> Result<Number, Trouble> {
    let (Ok(top), Ok(bottom)) = (top.parse::<u32>(), bottom.parse::<u32>()) else {
        return Err(Trouble::Fraction);
    };
    if !matches!(bottom, 2 | 4 | 8 | 16 | 32 | 64) || top == 0 {
        return Err(Trouble::Fraction);
    }
    let step = 1.0 / f64::from(bottom);
    Ok(Number {
        value: f64::from(top) * step,
        decimals: 0,
        step,
        fraction: Some(bottom),
    })
}

/// Digits with a decimal point or comma; separators of thousands only where they can be nothing else.
fn decimal(text: &str) -> Result<Number, Trouble> {
    let groups: Vec<&str> = text.split(['.', ',']).collect();
    let marks: Vec<char> = text.chars().filter(|c| !c.is_ascii_digit()).collect();
    let by_thousands =
        |g: &[&str]| matches!(g[0].len(), 1..=3) && !g[0].starts_with('0') && g[1..].iter().all(|g| g.len() == 3);
    let (whole, after) = match (marks.as_slice(), groups.as_slice()) {
        ([], [whole]) => ((*whole).to_owned(), ""),
        ([','], [a, b]) if by_thousands(&[a, b]) => {
            return Err(Trouble::Thousands((*a).to_owned(), (*b).to_owned()));
        }
        ([_], [a, b]) => ((*a).to_owned(), *b),
        // 1,200,000 and 1.200.000
        ([first, others @ ..], g) if others.iter().all(|m| m == first) && by_thousands(g) => (g.concat(), ""),
        // 1,200.5 and 1.200,5
        ([first, middle @ .., last], [g @ .., end])
            if last != first && middle.iter().all(|m| m == first) && by_thousands(g) =>
        {
            (g.concat(), *end)
        }
        _ => return Err(Trouble::NotANumber),
    };
    if whole.is_empty() && after.is_empty() {
        return Err(Trouble::NotANumber);
    }
    let value = format!("0{whole}.{after}0")
        .parse::<f64>()
        .map_err(|_| Trouble::NotANumber)?;
    let decimals = u8::try_from(after.len()).map_err(|_| Trouble::NotANumber)?;
    let step = format!("1e-{decimals}")
        .parse::<f64>()
        .map_err(|_| Trouble::NotANumber)?;
    Ok(Number {
        value,
        decimals,
        step,
        fraction: None,
    })
}
