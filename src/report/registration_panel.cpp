#include <fmt/format.h>

#include "report/panels.h"

namespace lastroom {

void registration_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Registration& found = facts.fitting.registration;
  pugi::xml_node section = add_section(page, words, "registration");
  add(section, "p", "intro", words("registration.intro"));
  if (!found.doubt_reason.empty()) add_message(section, "p", "remark", found.doubt_reason, words);
  if (facts.fitting.assessment.verdict == Verdict::none) return;  // its numbers would mean nothing
  Table table{words("registration.caption"), {words("registration.what"), words("measures.value")}, {}};
  const auto line = [&](const char* key, const std::string& value) { table.rows.push_back({words(key), value}); };
  line("registration.settled", words(found.converged ? "yes" : "no"));
  line("registration.rear_rms", words.length(found.rear_rms_mm, 2));
  line("registration.position", "± " + words.length(found.position_sigma_mm, 2));
  line("registration.angle", "± " + words.number(found.angle_sigma_deg, 2) + "°");
  line("registration.flex", words.number(found.hinge.angle_deg) + "°");
  line("registration.scan_error", "± " + words.length(facts.fitting.settings.registration.scan_error_mm));
  add_table(section, table);
  if (!found.weakest.empty()) {
    pugi::xml_node text = add(section, "p", "", words("registration.weakest") + " ");
    add_message(text, "span", "", found.weakest, words);
  }
  if (found.residuals.empty()) return;
  Table residuals{words("registration.residuals"),
                  {words("findings.zone"), words("registration.rms"), words("registration.mean")},
                  {}};
  for (const ZoneResidual& residual : found.residuals) {
    residuals.rows.push_back({words(fmt::format("zone.{}", zone_name(residual.zone))), words.length(residual.rms_mm, 2),
                              words.signed_length(residual.mean_mm, 2)});
  }
  add_table(section, residuals);
}

}  // namespace lastroom
