//! How much an answer would tell.

/// Bits of uncertainty in weights that need not sum to 1.
pub(super) fn entropy(weights: impl Iterator<Item = f64> + Clone) -> f64 {
    let sum: f64 = weights.clone().sum();
    if sum <= 0.0 {
        return 0.0;
    }
    weights.map(|weight| weight / sum).filter(|share| *share > 0.0).map(|share| -share * share.log2()).sum()
}

/// Bits that a block is expected to take away: `weights` of the sources, and the chance that it numbs each.
pub(super) fn expected(weights: &[f64], chances: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    if sum <= 0.0 {
        return 0.0;
    }
    let yes = weights.iter().zip(chances).map(|(weight, p)| weight * p);
    let no = weights.iter().zip(chances).map(|(weight, p)| weight * (1.0 - p));
    let share = yes.clone().sum::<f64>() / sum;
    (entropy(weights.iter().copied()) - share * entropy(yes) - (1.0 - share) * entropy(no)).max(0.0)
}
