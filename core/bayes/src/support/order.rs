//! Sorting by numbers, in one place: every other way of calling the library's sort is one more copy of
//! it in the page's engine.

/// Numbers that agree to this many bits count as equal, or two routes to the same number would be told apart by
/// their last digits, and machines that round a logarithm otherwise would say it in another order.
const BITS: u32 = 32;
/// Below this it is rounding: what is sorted here are chances, costs and bits.
const NOTHING: f64 = 1e-13;

/// A number without the digits that may be rounding.
pub fn rounded(number: f64) -> f64 {
    if number.abs() < NOTHING {
        return 0.0;
    }
    let cut = f64::MANTISSA_DIGITS - BITS;
    // Half up, in size: a carry goes on into the exponent, as it should.
    let up = number.to_bits() + (1 << (cut - 1));
    if number.is_finite() { f64::from_bits(up >> cut << cut) } else { number }
}

/// Places of some numbers, that of the largest first; equal ones keep their order.
pub fn descending(numbers: &[f64]) -> Vec<usize> {
    let numbers: Vec<f64> = numbers.iter().map(|n| rounded(*n)).collect();
    let mut places: Vec<usize> = (0..numbers.len()).collect();
    places.sort_by(|a, b| numbers[*b].total_cmp(&numbers[*a]));
    places
}

/// The place of the largest, the first among equals; none of none.
pub fn largest(numbers: impl IntoIterator<Item = f64>) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, number) in numbers.into_iter().map(rounded).enumerate() {
        if best.is_none_or(|(_, b)| number > b) {
            best = Some((place, number));
        }
    }
    best.map(|(place, _)| place)
}

/// Some things, that with the largest number first; equal ones keep their order.
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
    fn last_digits_tell_nothing_apart() {
        // 0.1 + 0.2 and 0.3 are neighbours; 32 bits are nine digits.
        assert_eq!(descending(&[0.3, 0.1 + 0.2, -1e-17, 0.0, 1e-17, -0.0]), [0, 1, 2, 3, 4, 5]);
        assert_eq!(descending(&[0.3, 0.3 + 1e-8, f64::INFINITY, -f64::INFINITY]), [2, 1, 0, 3]);
        assert_eq!(largest([-0.3 - 1e-15, -0.3]), Some(0));
        assert_eq!(rounded(2.0 - 1e-15), 2.0, "a carry into the exponent");
    }
}
