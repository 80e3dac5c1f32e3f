//! Configurations: combinations of states.

/// Calls `visit` with every configuration of variables that have these numbers of states. The last variable
/// varies fastest, as in the rows of a table. With a number of zero there is no configuration; with no
/// variables there is one, the empty one.
///
/// ```
/// let mut rows = Vec::new();
/// halfsplit_bayes::for_each_configuration(&[2, 2], |row| rows.push(row.to_vec()));
/// assert_eq!(rows, [[0, 0], [0, 1], [1, 0], [1, 1]]);
/// ```
pub fn for_each_configuration(cards: &[usize], mut visit: impl FnMut(&[usize])) {
    if cards.contains(&0) {
        return;
    }
    let mut row = vec![0; cards.len()];
    loop {
        visit(&row);
        let Some(axis) = (0..cards.len()).rev().find(|&i| row[i] + 1 < cards[i]) else { return };
        row[axis] += 1;
        row[axis + 1..].fill(0);
    }
}
