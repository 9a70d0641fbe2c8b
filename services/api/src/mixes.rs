//! Mixes: order, making, check, label, doses by zone, the rest.

mod amounts;
mod check_mix;
mod close_mix;
mod give_dose;
mod list_mixes;
mod make_mix;
mod mix;
mod order_mix;
mod show_mix_label;

pub(crate) use make_mix::StrengthBody;
pub(crate) use mix::StrengthShown;
use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(order_mix::order_mix)
        .service(list_mixes::list_mixes)
        .service(list_mixes::show_mix)
        .service(make_mix::make_mix)
        .service(check_mix::check_mix)
        .service(show_mix_label::show_mix_label)
        .service(give_dose::give_dose)
        .service(close_mix::close_mix)
        .service(amounts::show_amounts);
}
