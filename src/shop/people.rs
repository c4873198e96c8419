//! The people that a shop lists.

use crate::model::clean::Clean;
use crate::model::shop::Shop;
use crate::model::words;

/// What to say of a technician whom the shop does not list.
pub fn unlisted(shop: &Shop, technician: Option<&str>) -> Option<String> {
    let name = technician?;
    if shop.people.is_empty() || shop.people.iter().any(|person| person.name == name) {
        return None;
    }
    let nearest = words::nearest(name, shop.people.iter().map(|person| person.name.as_str()));
    let meant = words::did_you_mean(nearest.as_deref());
    Some(
        format!("The shop lists nobody named {}, so the record can't be signed by that name{meant}", Clean::name(name))
            + if meant.is_empty() { "." } else { "" },
    )
}
