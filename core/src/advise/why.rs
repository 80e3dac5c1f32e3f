//! One sentence for every step: why this, in words and numbers that the step itself holds.

use super::answer::{Leader, ResultOutlook, StepAdvice, StepKind};
use halfsplit_bayes::support::order::{largest_first, rounded};

/// How things stand before the step.
pub(super) struct Situation {
    /// Expected cost of the repair plan without any further check.
    pub(super) expected_now: f64,
    pub(super) leader: Option<Leader>,
}

pub(super) fn sentence(step: &StepAdvice, now: &Situation) -> String {
    match step.kind {
        StepKind::Check | StepKind::Bypass => observing(step, now),
        StepKind::Attempt => {
            let runs = step.results.first().map_or(0.0, |r| r.p);
            format!(
                "It runs now with a chance of {}; and what it does says more than any tester.",
                percent(runs)
            )
        }
        StepKind::Repair => repairing(step),
        StepKind::HandOver => "Going on is expected to cost at least as much as stopping.".to_owned(),
    }
}

fn repairing(step: &StepAdvice) -> String {
    let runs = step.results.first().map_or(0.0, |r| r.p);
    let then = step.results.get(1).and_then(|r| r.leader.as_ref());
    let cured = format!("It runs afterwards with a chance of {}.", percent(runs));
    let then = then.map_or(String::new(), |leader| {
        format!(" If it still does not, {} leads with {}.", leader.name, percent(leader.p_cause))
    });
    let go_on = if step.then_try {
        ""
    } else {
        " Go on from there before the next try: more than one thing is likely to be wrong."
    };
    format!("{cured}{then}{go_on}")
}

fn observing(step: &StepAdvice, now: &Situation) -> String {
    let saves = rounded(now.expected_now - step.expected_cost);
    let worth = if saves > 0.5 {
        format!("Saves about {saves:.0} on average against repairing by the odds alone")
    } else {
        "Saves little on average".to_owned()
    };
    let told =
        step.most_informative.and_then(|at| step.results.get(at)).and_then(|r| Some((r, r.leader.as_ref()?)));
    match told {
        Some((result, leader)) => format!(
            "{worth}. If it shows \"{}\" (chance {}), {} leads with {}.",
            result.name,
            percent(result.p),
            leader.name,
            percent(leader.p_cause)
        ),
        None => format!("{worth}."),
    }
}

/// The place of the result that makes somebody lead most clearly, weighed by its chance; a result after
/// which the same cause leads as before tells only by how much more clearly it does.
pub(super) fn most_informative(results: &[ResultOutlook], before: Option<&Leader>) -> Option<usize> {
    let gain = |leader: &Leader| {
        let same = before.filter(|b| b.part == leader.part && b.condition == leader.condition);
        leader.p_cause - same.map_or(0.0, |b| b.p_cause)
    };
    let told = results.iter().enumerate().filter_map(|(at, r)| Some((at, r.p * gain(r.leader.as_ref()?))));
    largest_first(told.collect(), |(_, gain): &(usize, f64)| *gain).first().map(|(at, _)| *at)
}

/// A chance in words that stay honest at the ends.
fn percent(p: f64) -> String {
    let percent = rounded(p * 100.0);
    if percent > 0.0 && percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 && percent < 100.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}
