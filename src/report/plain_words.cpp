#include "report/plain_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/text.h"

namespace lastroom {
namespace {

constexpr std::size_t kMostPlaces = 5;  // more than that nobody keeps in mind; the rest is in the maker's part

/// The rule's own sentence: another one when nothing could be measured, when the limit is an upper one, and when there
/// is less than no room ("3 mm too little" instead of a room of minus 3 mm).
std::string rule_key(const Words& words, const Finding& finding) {
  const std::string key = fmt::format("plain_rule.{}", rule_name(finding.rule));
  const char* kind = !finding.measured_mm                      ? ".unmeasured"
                     : finding.verdict == Verdict::slack       ? ".slack"
                     : finding.measured_mm.value_or(0.0) < 0.0 ? ".lacking"
                                                               : "";
  return words.has(key + kind) ? key + kind : key;
}

}  // namespace

Tidings tidings_of(const Fitting& fitting) {
  const Assessment& found = fitting.assessment;
  if (found.verdict == Verdict::clear) return Tidings::clear;
  if (found.verdict == Verdict::pinch) return Tidings::pinch;
  if (found.verdict == Verdict::none) return Tidings::none;
  const auto is_near = [&](const Finding& finding) {
    const RuleKind kind = traits_of(finding.rule).kind;
    return finding.verdict == Verdict::watch && kind != RuleKind::difference && kind != RuleKind::fact;
  };
  if (std::ranges::any_of(found.findings, is_near)) return Tidings::watch;
  const bool loose = std::ranges::find(found.findings, Verdict::slack, &Finding::verdict) != found.findings.end();
  return loose ? Tidings::slack : Tidings::facts;
}

std::string_view tidings_name(Tidings tidings) {
  constexpr std::string_view kNames[] = {"clear", "facts", "slack", "watch", "pinch", "none"};
  return kNames[static_cast<std::size_t>(tidings)];
}

Message own_rules(const RulesHead& rules) {
  return {"caution.own_rules",
          {{"name", UserText{plain_text(rules.name, 80)}},
           {"file", UserText{plain_text(rules.file, 80)}},
           {"loosened", std::uint64_t{rules.loosened}},
           {"all", std::uint64_t{rules.limits}}}};
}

Message about_wearer(Wearer wearer, const Message& reason) {
  if (wearer == Wearer::standard) return {};
  if (!reason.empty()) return reason;
  return {wearer == Wearer::unknown ? "wearer.unknown" : "wearer.at_risk"};
}

std::string first_caution(const Words& words, Wearer wearer) {
  return words(wearer == Wearer::standard ? "caution.first" : "caution.first_at_risk") + " " +
         words("caution.referral");
}

std::vector<std::string> next_steps(const Words& words, Tidings tidings, Wearer wearer) {
  std::vector<std::string> steps;
  if (wearer != Wearer::standard) steps.push_back(words(wearer == Wearer::unknown ? "next.unknown" : "next.at_risk"));
  for (int step = 1;; ++step) {
    const std::string key = fmt::format("next.{}.{}", tidings_name(tidings), step);
    if (!words.has(key)) return steps;
    steps.push_back(words(key));
  }
}

std::vector<Place> places_to_show(const Page& facts) {
  std::vector<Place> shown;
  for (const Place& place : facts.places) {
    if (place.finding->verdict == Verdict::clear) continue;  // a marked spot that has its room
    // The gravest finding speaks for its place: a second one for the same zone is the maker's business.
    const bool told = std::any_of(shown.begin(), shown.end(), [&](const Place& other) {
      return place.finding->zone && place.finding->rule != RuleId::marked_spot &&
             other.finding->zone == place.finding->zone;
    });
    if (!told && shown.size() < kMostPlaces) shown.push_back(place);
  }
  return shown;
}

std::string plain_subject(const Words& words, const Finding& finding) {
  return finding.zone ? words(fmt::format("plain_zone.{}", zone_name(*finding.zone))) : subject(words, finding);
}

bool has_plain_words(const Words& words, const Finding& finding) {
  return finding.zone || words.has(rule_key(words, finding));
}

std::string in_plain_words(const Page& facts, const Finding& finding) {
  const Words& words = facts.words;
  const std::string key = rule_key(words, finding);
  const auto shown = [&](const std::optional<double>& mm) { return mm ? words.length_number(*mm) : std::string(); };
  const bool size_only = key.ends_with(".lacking") || !words.has(key);  // the sentence says which way
  const Words::Values values = {
      {"mm", shown(size_only && finding.measured_mm ? std::abs(*finding.measured_mm) : finding.measured_mm)},
      {"limit", shown(finding.limit_mm)},
      {"doubt", shown(finding.sigma_mm)}};
  if (words.has(key)) return words(key, values);
  if (!finding.zone) return words("plain_rule.other");
  const auto zone = std::find_if(facts.fitting.assessment.zones.begin(), facts.fitting.assessment.zones.end(),
                                 [&](const ZoneVerdict& z) { return z.clearance.zone == *finding.zone; });
  if (zone != facts.fitting.assessment.zones.end() && zone->undecided) return words("plain.undecided", values);
  const bool too_near = finding.verdict == Verdict::pinch || finding.verdict == Verdict::watch;
  if (!too_near || !finding.measured_mm) {
    return words(fmt::format("plain.{}", verdict_name(finding.verdict)), values);
  }
  const char* sign = *finding.measured_mm < 0.0 ? "presses" : "room";
  return words(fmt::format("plain.{}.{}", verdict_name(finding.verdict), sign), values);
}

}  // namespace lastroom
