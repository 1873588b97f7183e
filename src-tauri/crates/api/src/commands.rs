//! The table of commands, noun by noun.

mod audit;
mod audit_settle;
mod audit_shown;
mod battery;
mod battery_agreed;
mod battery_calendar;
mod battery_demand;
mod battery_figures;
mod battery_found;
mod battery_life;
mod battery_plan;
mod battery_power;
mod battery_problem;
mod battery_readiness;
mod battery_sheet;
mod battery_visits;
mod door_sheet;
mod find;
mod journal;
mod label;
mod label_design;
mod label_printer;
mod label_quality;
mod label_reading;
mod label_sheet;
mod lines;
mod lineup;
mod lineup_material;
mod lineup_plan;
mod lineup_sheet;
mod model;
mod model_plate;
mod order;
mod order_match;
mod people;
mod photo;
mod place;
mod place_seen;
mod rule;
mod sentence;
mod sentence_audit;
mod sentence_spares;
mod site;
mod spares;
mod spares_ages;
mod spares_choice;
mod spares_class;
mod spares_days;
mod spares_dead;
mod spares_demand;
mod spares_echelon;
mod spares_facts;
mod spares_foreseen;
mod spares_gather;
mod spares_history;
mod spares_known;
mod spares_last;
mod spares_last_need;
mod spares_last_opened;
mod spares_last_reply;
mod spares_level;
mod spares_line;
mod spares_list;
mod spares_model;
mod spares_money;
mod spares_notes;
mod spares_opened;
mod spares_opened_rate;
mod spares_places;
mod spares_projection;
mod spares_rate;
mod spares_reason;
mod spares_repair;
mod spares_resupply;
mod spares_round;
mod spares_serving;
mod spares_sheet;
mod spares_sheet_ahead;
mod spares_sheet_lines;
mod spares_sheet_stock;
mod spares_site;
mod spares_stand_in;
mod spares_start;
mod spares_stock;
mod spares_stores;
mod spares_substitution;
mod spares_sums;
mod spares_ties;
mod spares_touched;
mod spares_warmth;
mod spares_what_if;
mod stock;
mod stock_fits;
mod stock_handed_out;
mod stock_out;
mod stock_pick;
mod stock_reserve;
mod stocktake;
mod stocktake_why;
mod swap;
mod swap_candidates;
mod swap_check;
mod swap_effects;
mod swap_find;
mod swap_rail;
mod swap_sheet;
mod swap_steps;
mod unit;

pub(crate) use battery_calendar::calendar;
pub(crate) use people::device_with;
pub(crate) use spares_known::Kept as SparesKept;

use crate::Command;

/// Every command there is.
pub(crate) fn all() -> Vec<Command> {
    [
        site::commands(),
        place::commands(),
        place_seen::commands(),
        audit::commands(),
        audit_settle::commands(),
        lineup::commands(),
        lineup_plan::commands(),
        lineup_sheet::commands(),
        unit::commands(),
        model::commands(),
        model_plate::commands(),
        label::commands(),
        label_reading::commands(),
        label_sheet::commands(),
        label_design::commands(),
        label_printer::commands(),
        label_quality::commands(),
        door_sheet::commands(),
        battery::commands(),
        photo::commands(),
        rule::commands(),
        swap::commands(),
        swap_candidates::commands(),
        swap_check::commands(),
        swap_effects::commands(),
        swap_find::commands(),
        swap_steps::commands(),
        swap_sheet::commands(),
        stock::commands(),
        stock_out::commands(),
        stock_handed_out::commands(),
        stock_reserve::commands(),
        stocktake::commands(),
        order::commands(),
        order_match::commands(),
        spares::commands(),
        spares_choice::commands(),
        spares_last::commands(),
        spares_model::commands(),
        spares_money::commands(),
        spares_projection::commands(),
        spares_sheet::commands(),
        spares_stores::commands(),
        journal::commands(),
        people::commands(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
