// The functions behind the verbs, by family. Each is in the file of its family.
#pragma once

namespace baybook::tool {

class Context;

// setup_verbs.cpp
int run_start(Context&);
int run_place_add(Context&);
int run_place_seal(Context&);
int run_place_open(Context&);
int run_place_retire(Context&);
int run_place_bulk(Context&);
int run_place_shelf(Context&);
int run_fluid_add(Context&);
int run_fluid_change(Context& c);
int run_fluid_list(Context&);
int run_person_add(Context&);
int run_person_list(Context&);
int run_car_add(Context&);
int run_car_change(Context&);
int run_car_show(Context&);
int run_car_list(Context&);

// job_verbs.cpp
int run_job_open(Context&);
int run_job_close(Context&);
int run_job_show(Context&);
int run_job_list(Context&);
int run_odo(Context&);
int run_code(Context&);
int run_work(Context&);
int run_fit(Context&);
int run_torque(Context&);

// fluid_verbs.cpp
int run_drain(Context&);
int run_filter(Context&);
int run_fill(Context&);
int run_spill(Context&);
int run_decant(Context&);
int run_receive(Context&);
int run_discard(Context&);
int run_gauge(Context&);
int run_pickup(Context&);

// reading_verbs.cpp
int run_last(Context&);
int run_history(Context&);
int run_fitted(Context&);
int run_levels(Context&);
int run_totals(Context&);
int run_entries(Context&);
int run_entry(Context&);

// correct_verbs.cpp
int run_correct(Context&);
int run_prove(Context&);

// keep_verbs.cpp
int run_backup(Context&);
int run_backup_restore(Context&);


// erase_verbs.cpp
int run_erase_car(Context&);
int run_erase_person(Context&);
int run_erase_firm(Context&);
int run_erase_entry(Context&);
int run_erase_asked(Context&);
int run_erase_finish(Context&);

// office_verbs.cpp
int run_firm_add(Context&);
int run_firm_change(Context& c);
int run_firm_list(Context&);
int run_rules_list(Context&);
int run_rules_show(Context&);
int run_rules_set(Context&);
int run_rules_check(Context&);
int run_pickup_confirm(Context&);
int run_pickup_list(Context&);
int run_inspect(Context&);
int run_determine(Context&);
int run_paper_add(Context&);
int run_paper_list(Context&);
int run_deadline_add(Context&);
int run_deadline_done(Context&);
int run_deadline_list(Context&);
// duty_verbs.cpp
int run_filing_add(Context&);
int run_filing_list(Context&);
int run_event_add(Context&);
int run_event_end(Context&);
int run_hold_add(Context&);
int run_hold_end(Context&);
int run_extension_add(Context&);
// office_verbs.cpp
int run_limits(Context&);
int run_register(Context&);
int run_close(Context&);
int run_label(Context&);

// due_verbs.cpp
int run_schedule_set(Context&);
int run_schedule_load(Context&);
int run_schedule_list(Context&);
int run_due(Context&);
int run_due_done(Context&);
int run_due_put_off(Context&);
int run_recheck(Context&);
int run_comebacks(Context&);

// exchange_verbs.cpp
int run_exchange_out(Context&);
int run_exchange_in(Context&);
int run_exchange_none(Context&);
// exchange_with.cpp
int run_exchange_with(Context&);
// peer_verbs.cpp
int run_exchange_list(Context&);
int run_exchange_accept(Context&);
int run_exchange_agree(Context&);
int run_exchange_forget(Context&);
// exchange_verbs.cpp
int run_settle_list(Context&);
int run_settle_keep(Context&);
int run_settle_join(Context&);
int run_settle_apart(Context&);
int run_settle_rename(Context&);

// import_verbs.cpp
int run_import_cars(Context&);
int run_import_readings(Context&);
int run_import_tasks(Context&);
int run_export_cars(Context&);
int run_export_readings(Context&);
int run_export_tasks(Context&);

// completion_verbs.cpp
int run_completion(Context&);
int run_suggest(Context&);
// manual_verb.cpp
int run_manual(Context&);

}  // namespace baybook::tool
