//! Sorting by numbers. One shared sort keeps the code of the web engine small.

/// Numbers that agree in this many leading bits count as equal. Two ways of computing the same number differ
/// in their last digits, and so may two platforms.
const BITS: u32 = 32;
/// Numbers below this count as zero: the numbers sorted here are probabilities, costs and bits.
const NOTHING: f64 = 1e-13;

/// The number, rounded to the digits that are compared.
pub fn rounded(number: f64) -> f64 {
    if number.abs() < NOTHING {
        return 0.0;
    }
    let cut = f64::MANTISSA_DIGITS - BITS;
    // Half away from zero; a carry into the exponent is correct.
    let up = number.to_bits() + (1 << (cut - 1));
    if number.is_finite() { f64::from_bits(up >> cut << cut) } else { number }
}

/// Indices of the numbers, largest first. Equal numbers keep their order.
pub fn descending(numbers: &[f64]) -> Vec<usize> {
    let numbers: Vec<f64> = numbers.iter().map(|n| rounded(*n)).collect();
    let mut places: Vec<usize> = (0..numbers.len()).collect();
    places.sort_by(|a, b| numbers[*b].total_cmp(&numbers[*a]));
    places
}

/// Index of the largest number, the first among equals; `None` if there are no numbers.
pub fn largest(numbers: impl IntoIterator<Item = f64>) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, number) in numbers.into_iter().map(rounded).enumerate() {
        if best.is_none_or(|(_, b)| number > b) {
            best = Some((place, number));
        }
    }
    best.map(|(place, _)| place)
}

/// The items, largest number first. Equal ones keep their order.
pub fn largest_first<T>(things: Vec<T>, number: impl Fn(&T) -> f64) -> Vec<T> {
    let numbers: Vec<f64> = things.iter().map(number).collect();
    let mut things: Vec<Option<T>> = things.into_iter().map(Some).collect();
    descending(&numbers).into_iter().filter_map(|place| things[place].take()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_comes_first_and_equals_keep_their_order() {
        assert_eq!(descending(&[1.0, 3.0, -2.0, 3.0]), [1, 3, 0, 2]);
        assert_eq!(largest([1.0, 3.0, -2.0, 3.0]), Some(1));
        assert_eq!(largest([]), None);
        assert_eq!(largest_first(vec!["one", "three", "ten"], |t| t.len() as f64), ["three", "one", "ten"]);
    }

    #[test]
    fn differences_in_the_last_digits_are_ignored() {
        // 0.1 + 0.2 and 0.3 are adjacent numbers; 32 bits are nine decimal digits.
        assert_eq!(descending(&[0.3, 0.1 + 0.2, -1e-17, 0.0, 1e-17, -0.0]), [0, 1, 2, 3, 4, 5]);
        assert_eq!(descending(&[0.3, 0.3 + 1e-8, f64::INFINITY, -f64::INFINITY]), [2, 1, 0, 3]);
        assert_eq!(largest([-0.3 - 1e-15, -0.3]), Some(0));
        assert_eq!(rounded(2.0 - 1e-15), 2.0, "a carry into the exponent");
    }
}
