//! The policies that come with the crate, one file each.

mod advice;
mod cheapest;
mod checklist;
mod clairvoyant;
mod information;
mod repairs_only;

use super::policy::Policy;
use halfsplit_bayes::support::suggest::{NoSuchId, find};

/// All policies that come with the crate. The command line offers these.
pub const POLICIES: [&dyn Policy; 6] = [
    &advice::Advice,
    &repairs_only::RepairsOnly,
    &information::Information,
    &checklist::Checklist,
    &cheapest::Cheapest,
    &clairvoyant::Clairvoyant,
];

/// The policy with an id.
///
/// # Errors
/// [`NoSuchId`] with the nearest id.
pub fn policy(id: &str) -> Result<&'static dyn Policy, NoSuchId> {
    find("policy", "policy", id, POLICIES.iter().map(|policy| policy.id())).map(|at| POLICIES[at])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_policy_is_found_by_its_id_and_no_other_is() {
        for known in POLICIES {
            assert_eq!(policy(known.id()).expect("a policy").about(), known.about());
        }
        let error = policy("advise").expect_err("no such policy");
        assert_eq!(error.to_string(), "at policy: there is no policy \"advise\"; did you mean \"advice\"?");
    }
}
