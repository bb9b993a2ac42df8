// A job on the screen: its story and its fluid accounts, as a shop form.
#pragma once

#include <baybook/reports.hpp>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void job_object(Json& json, const JobView& job, const Units& units);
/// The accounts alone, one form for each circuit.
void job_accounts(Context& context, const JobView& job);
void job_text(Context& context, const JobView& job);

}  // namespace baybook::tool::render
