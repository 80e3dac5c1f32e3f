//! The repair plan: what it costs to get the engine running by repairs alone.
//!
//! Repair after repair with a start attempt after each, always the one with the highest chance of
//! success for its cost, re-ranked after every failure, and handing over as soon as that is cheaper
//! than going on. With one fault and independent repairs this order is optimal (Kadane and Simon
//! 1977; Heckerman, Breese and Rommelse 1995); with several faults at once it is an upper bound of
//! the optimum, and the value that checks are measured against.

use super::sets::CauseSet;

/// Prices of everything that a plan can do, in money.
pub(super) struct Prices {
    /// Repairs that can be done with the kit.
    pub(super) repairs: Vec<RepairPrice>,
    /// One plain attempt.
    pub(super) attempt: f64,
    /// Handing over.
    pub(super) hand_over: f64,
}

/// A repair as the plan sees it.
#[derive(Debug, Clone)]
pub(super) struct RepairPrice {
    /// Conditions that it makes good.
    pub(super) cures: CauseSet,
    /// Chance that it takes.
    pub(super) takes: f64,
    /// Cost of the repair without the attempt after it.
    pub(super) cost: f64,
}

/// What the plan does first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum First {
    /// Whatever is best.
    Best,
    /// This repair, at this cost instead of its own (set-up work may be open already).
    Repair(usize),
}

/// Sets of causes with their weights while a plan goes on.
struct Open {
    left: CauseSet,
    weight: f64,
    takes: f64,
    tried: bool,
}

/// Expected cost of the plan. `weights` belong to `sets` and need not sum to 1; `beyond` is the
/// weight of all other sets, for which handing over is reckoned. `first_cost` replaces the price of
/// a forced first repair.
pub(super) fn expected_cost(
    prices: &Prices,
    sets: &[CauseSet],
    weights: &[f64],
    beyond: f64,
    first: First,
    first_cost: f64,
) -> f64 {
    let total: f64 = weights.iter().sum::<f64>() + beyond;
    if total <= 0.0 {
        return prices.hand_over;
    }
    let mut open: Vec<Open> = sets
        .iter()
        .zip(weights)
        .filter(|(_, w)| **w > 0.0)
        .map(|(s, w)| Open { left: *s, weight: w / total, takes: 1.0, tried: false })
        .collect();
    let beyond = beyond / total;
    // (chance that it is reached, its cost) of every step
    let mut steps: Vec<(f64, f64)> = Vec::new();
    let mut forced = match first {
        First::Best => None,
        First::Repair(r) => Some(r),
    };
    let mut gains = vec![0.0; prices.repairs.len()];
    loop {
        let alive: f64 = open.iter().map(|o| o.weight).sum::<f64>() + beyond;
        let choice = match forced.take() {
            Some(r) => Some((Some(r), first_cost + prices.attempt)),
            None => best_step(prices, &open, &mut gains),
        };
        let Some((repair, cost)) = choice else {
            return settle(&steps, alive, prices.hand_over);
        };
        steps.push((alive, cost));
        for o in &mut open {
            if let Some(r) = repair {
                let repair = &prices.repairs[r];
                if o.left & repair.cures != 0 {
                    o.left &= !repair.cures;
                    o.takes *= repair.takes;
                }
            }
            if o.left == 0 && !o.tried {
                o.tried = true;
                o.weight *= 1.0 - o.takes;
            }
        }
    }
}

/// The step with the highest chance of success for its cost: a repair with the attempt after it, or
/// (none) a plain attempt.
fn best_step(prices: &Prices, open: &[Open], gains: &mut [f64]) -> Option<(Option<usize>, f64)> {
    let ready: f64 = open.iter().filter(|o| o.left == 0 && !o.tried).map(|o| o.weight * o.takes).sum();
    gains.fill(0.0);
    for o in open.iter().filter(|o| o.left != 0) {
        for (gain, repair) in gains.iter_mut().zip(&prices.repairs) {
            if o.left & !repair.cures == 0 {
                *gain += o.weight * o.takes * repair.takes;
            }
        }
    }
    if ready <= 0.0 && gains.iter().all(|g| *g <= 0.0) {
        // Only sets that no single repair finishes: begin where most of them are.
        for o in open.iter().filter(|o| o.left != 0) {
            for (gain, repair) in gains.iter_mut().zip(&prices.repairs) {
                if o.left & repair.cures != 0 {
                    *gain += o.weight * repair.takes;
                }
            }
        }
    }
    let mut best = (ready > 0.0).then_some((None, prices.attempt, ready));
    for (r, (gain, repair)) in gains.iter().zip(&prices.repairs).enumerate() {
        if *gain <= 0.0 {
            continue;
        }
        let (gain, cost) = (gain + ready, repair.cost + prices.attempt);
        if best.is_none_or(|(_, c, g)| gain * c > g * cost) {
            best = Some((Some(r), cost, gain));
        }
    }
    best.map(|(repair, cost, _)| (repair, cost))
}

/// Cost of a fixed order of steps, stopping where handing over is cheaper than going on. The first
/// step is always done, because the caller compares it with handing over at once.
fn settle(steps: &[(f64, f64)], left: f64, hand_over: f64) -> f64 {
    let mut rest = left * hand_over;
    for (i, (alive, cost)) in steps.iter().enumerate().rev() {
        let going_on = alive * cost + rest;
        rest = if i == 0 { going_on } else { going_on.min(alive * hand_over) };
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five faults of trade literature G.7: p = .40 .25 .20 .10 .05, c = 60 5 20 15 2.
    const P: [f64; 5] = [0.40, 0.25, 0.20, 0.10, 0.05];
    const C: [f64; 5] = [60.0, 5.0, 20.0, 15.0, 2.0];

    fn prices(hand_over: f64) -> Prices {
        let repairs =
            C.iter().enumerate().map(|(i, c)| RepairPrice { cures: 1 << i, takes: 1.0, cost: *c }).collect();
        Prices { repairs, attempt: 0.0, hand_over }
    }

    fn cost(hand_over: f64) -> f64 {
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        expected_cost(&prices(hand_over), &sets, &P, 0.0, First::Best, 0.0)
    }

    #[test]
    fn the_order_by_chance_over_cost_is_the_best_of_all_orders() {
        // Kadane and Simon 1977 (theorem): decreasing p/c minimises expected cost. 52.00 is the best
        // of all 120 orders, found by trying them here.
        let mut best = f64::INFINITY;
        crate::network::for_each_row(&[5; 5], |order| {
            if (0..5).all(|i| order.contains(&i)) {
                let mut left = 1.0;
                let mut sum = 0.0;
                for i in order {
                    sum += left * C[*i];
                    left -= P[*i];
                }
                best = best.min(sum);
            }
        });
        assert!((best - 52.0).abs() < 1e-9);
        assert!((cost(1e9) - best).abs() < 1e-6);
    }

    #[test]
    fn a_call_out_cuts_the_list_short() {
        // With a call-out that always cures at 30 or 60 the best lists cost 27.50 and 48.50: by
        // trying all lists (the same example).
        assert!((cost(30.0) - 27.5).abs() < 1e-9);
        assert!((cost(60.0) - 48.5).abs() < 1e-9);
    }

    #[test]
    fn two_causes_at_once_need_two_repairs() {
        let both = expected_cost(&prices(1e9), &[0b00011], &[1.0], 0.0, First::Best, 0.0);
        assert!((both - 65.0).abs() < 1e-9, "{both}");
        let nothing_wrong = expected_cost(&prices(1e9), &[0], &[1.0], 0.0, First::Best, 0.0);
        assert!(nothing_wrong.abs() < 1e-12, "an attempt is free here: {nothing_wrong}");
    }

    #[test]
    fn a_repair_that_may_not_take_leaves_the_hand_over() {
        let prices = Prices {
            repairs: vec![RepairPrice { cures: 1, takes: 0.8, cost: 10.0 }],
            attempt: 2.0,
            hand_over: 100.0,
        };
        let cost = expected_cost(&prices, &[1], &[1.0], 0.0, First::Best, 0.0);
        assert!((cost - (12.0 + 0.2 * 100.0)).abs() < 1e-9);
    }
}
