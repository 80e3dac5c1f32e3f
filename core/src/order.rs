//! Sorting by numbers, in one place: every other way of calling the library's sort is one more copy of
//! it in the page's engine.

/// Places of some numbers, that of the largest first; equal ones keep their order.
pub(crate) fn descending(numbers: &[f64]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..numbers.len()).collect();
    places.sort_by(|a, b| numbers[*b].total_cmp(&numbers[*a]));
    places
}

/// Some things, that with the largest number first; equal ones keep their order.
pub(crate) fn largest_first<T>(things: Vec<T>, number: impl Fn(&T) -> f64) -> Vec<T> {
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
        assert_eq!(largest_first(vec!["one", "three", "ten"], |t| t.len() as f64), ["three", "one", "ten"]);
    }
}
