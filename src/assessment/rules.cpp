#include "assessment/rules.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <pugixml.hpp>
#include <set>
#include <sstream>
#include <stdexcept>

#include "assessment/limit_numbers.h"
#include "digest/digest.h"
#include "error.h"
#include "number_text.h"

namespace lastroom {

namespace embedded {
extern const std::string_view default_rules_xml;
}

namespace {

constexpr std::string_view kKindNames[] = {"zone", "room", "difference", "fact"};  // as RuleKind
constexpr std::pair<std::string_view, Provenance> kProvenances[] = {{"published", Provenance::published},
                                                                    {"common_practice", Provenance::common_practice},
                                                                    {"our_choice", Provenance::our_choice}};

class Reader {
 public:
  /// `built_in`: what the rules are held against; none for the built-in ones themselves.
  Reader(std::string_view xml, const std::string& name, const Rules* built_in)
      : xml_(xml), name_(name), built_in_(built_in) {}

  Rules read() const {
    pugi::xml_document document;
    const pugi::xml_parse_result parsed = document.load_buffer(
        xml_.data(), xml_.size(), pugi::parse_default | pugi::parse_ws_pcdata_single, pugi::encoding_utf8);
    if (!parsed) fail(parsed.offset, fmt::format("this is not well-formed XML: {}", parsed.description()));
    const pugi::xml_node root = document.document_element();
    if (std::string_view(root.name()) != "rules") fail(root, "the first element must be <rules>");
    allow_attributes(root, {"name"});

    Rules rules;
    rules.name = attribute(root, "name");
    rules.sha256 = sha256_of(xml_);
    rules.built_in = built_in_ == nullptr || rules.sha256 == built_in_->sha256;
    if (!rules.built_in) rules.file = name_;
    std::set<RuleId> seen;
    for (const pugi::xml_node child : elements_of(root)) {
      rules.rules.push_back(rule(child));
      const RuleId id = rules.rules.back().id;
      if (!seen.insert(id).second) fail(child, fmt::format("\"{}\" has a rule already", rule_name(id)));
      if (built_in_ != nullptr) hold_against_built_in(child, rules);
      const Rule& last = rules.rules.back();
      const RuleKind kind = traits_of(id).kind;
      rules.limits += numbers_of(last.standard, kind).size() + numbers_of(last.at_risk, kind).size();
    }
    for (std::size_t i = 0; i < kRuleCount; ++i)
      if (const auto id = static_cast<RuleId>(i); !seen.contains(id))
        fail(root, fmt::format("there is no rule for \"{}\"", rule_name(id)));
    return rules;
  }

 private:
  [[noreturn]] void fail(std::ptrdiff_t offset, const std::string& reason) const {
    const auto end = xml_.begin() + std::clamp<std::ptrdiff_t>(offset, 0, static_cast<std::ptrdiff_t>(xml_.size()));
    throw InputError(fmt::format("{}, line {}: {}; correct the rules file (the built-in rules show how it is written)",
                                 name_, 1 + std::count(xml_.begin(), end, '\n'), reason));
  }
  [[noreturn]] void fail(const pugi::xml_node& node, const std::string& reason) const {
    fail(node.offset_debug(), reason);
  }

  std::vector<pugi::xml_node> elements_of(const pugi::xml_node& parent) const {
    std::vector<pugi::xml_node> result;
    for (const pugi::xml_node child : parent) {
      if (child.type() == pugi::node_element)
        result.push_back(child);
      else if (std::string_view(child.value()).find_first_not_of(" \t\r\n") != std::string_view::npos)
        fail(child, fmt::format("<{}> holds elements only, no text", parent.name()));
    }
    return result;
  }

  void allow_attributes(const pugi::xml_node& node, const std::set<std::string_view>& allowed) const {
    std::set<std::string_view> seen;
    for (const pugi::xml_attribute a : node.attributes()) {
      if (!allowed.contains(a.name())) fail(node, fmt::format("<{}> has no attribute \"{}\"", node.name(), a.name()));
      if (!seen.insert(a.name()).second) fail(node, fmt::format("\"{}\" is given twice", a.name()));
    }
  }

  std::string attribute(const pugi::xml_node& node, const char* key) const {
    const std::string value = node.attribute(key).value();
    if (value.empty()) fail(node, fmt::format("<{}> must have the attribute \"{}\"", node.name(), key));
    return value;
  }

  std::optional<double> number(const pugi::xml_node& node, const char* key) const {
    if (!node.attribute(key)) return std::nullopt;
    const std::string_view text = node.attribute(key).value();
    double value = 0.0;
    const auto [end, error] = number_from(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || !(std::abs(value) <= 1000.0))
      fail(node, fmt::format("{}=\"{}\" is not a number of millimetres between -1000 and 1000", key, text));
    return value;
  }

  double needed_number(const pugi::xml_node& node, const char* key) const {
    const std::optional<double> value = number(node, key);
    if (!value) fail(node, fmt::format("<{}> must have the attribute \"{}\"", node.name(), key));
    return *value;
  }

  std::vector<std::string> published_limits(const pugi::xml_node& node) const {
    std::istringstream words(node.attribute("published").value());
    std::vector<std::string> limits;
    for (std::string word; words >> word; limits.push_back(word))
      if (word == "published" || !node.attribute(word.c_str()))
        fail(node, fmt::format("published=\"...\" names limits of this element; \"{}\" is none", word));
    return limits;
  }

  Limits limits(const pugi::xml_node& node, RuleKind kind) const {
    Limits result;
    if (!elements_of(node).empty()) fail(node, fmt::format("<{}> holds nothing but its attributes", node.name()));
    if (kind == RuleKind::difference) {
      allow_attributes(node, {"watch_above", "published"});
      result.watch_above_mm = number(node, "watch_above");
      result.published = published_limits(node);
      if (result.watch_above_mm.value_or(0.0) < 0.0) fail(node, "watch_above must not be negative");
      return result;
    }
    allow_attributes(node, {"pinch_below", "watch_below", "slack_above", "published"});
    result.pinch_below_mm = needed_number(node, "pinch_below");
    result.watch_below_mm = needed_number(node, "watch_below");
    result.slack_above_mm = number(node, "slack_above");
    result.published = published_limits(node);
    if (result.pinch_below_mm > result.watch_below_mm) fail(node, "pinch_below must not be larger than watch_below");
    if (result.slack_above_mm && *result.slack_above_mm <= result.watch_below_mm)
      fail(node, "slack_above must be larger than watch_below");
    return result;
  }

  std::string text(const pugi::xml_node& node) const {
    allow_attributes(node, {});
    std::string result;
    for (const pugi::xml_node child : node) {
      if (child.type() == pugi::node_element) fail(child, fmt::format("<{}> holds text only", node.name()));
      for (const char c : std::string_view(child.value())) {
        const bool space = c == ' ' || c == '\t' || c == '\r' || c == '\n';
        if (!space) result += c;
        if (space && !result.empty() && result.back() != ' ') result += ' ';
      }
    }
    while (!result.empty() && result.back() == ' ') result.pop_back();
    if (result.empty()) fail(node, fmt::format("<{}> must not be empty", node.name()));
    return result;
  }

  RuleKind kind_of(const pugi::xml_node& node) const {
    const auto found = std::find(std::begin(kKindNames), std::end(kKindNames), std::string_view(node.name()));
    if (found == std::end(kKindNames))
      fail(node, fmt::format("<{}> is not known here; it must be {}", node.name(), fmt::join(kKindNames, ", ")));
    return static_cast<RuleKind>(found - std::begin(kKindNames));
  }

  RuleId id_of(const pugi::xml_node& node) const {
    const RuleKind kind = kind_of(node);
    const std::string name = attribute(node, "name");
    const std::optional<RuleId> id = find_rule(name);
    if (!id || traits_of(*id).kind != kind) fail(node, fmt::format("there is no {} \"{}\"", node.name(), name));
    return *id;
  }

  /// Counts what was loosened in the last rule that was read. The at-risk limits may not be.
  void hold_against_built_in(const pugi::xml_node& node, Rules& rules) const {
    Rule& mine = rules.rules.back();
    const Rule& theirs = rule_by(*built_in_, mine.id);
    const RuleKind kind = traits_of(mine.id).kind;
    if (const auto laxer = laxer_limits(mine.at_risk, theirs.at_risk, kind); !laxer.empty())
      fail(node, fmt::format("for who may not feel a pinch, \"{}\" must not be laxer than built in ({})",
                             rule_name(mine.id), fmt::join(laxer, ", ")));
    rules.loosened += laxer_limits(mine.standard, theirs.standard, kind).size();
    keep_what_is_published(mine.standard, theirs.standard, kind);
    keep_what_is_published(mine.at_risk, theirs.at_risk, kind);
  }

  static void keep_what_is_published(Limits& mine, const Limits& theirs, RuleKind kind) {
    const auto my_numbers = numbers_of(mine, kind), their_numbers = numbers_of(theirs, kind);
    std::erase_if(mine.published, [&](const std::string& limit) {
      const bool both = std::ranges::find(theirs.published, limit) != theirs.published.end();
      return !both || my_numbers.at(limit) != their_numbers.at(limit);
    });
  }

  Rule rule(const pugi::xml_node& node) const {
    Rule rule;
    rule.id = id_of(node);
    allow_attributes(node, {"name", "provenance"});
    const RuleKind kind = traits_of(rule.id).kind;
    const std::string provenance = attribute(node, "provenance");
    const auto known = std::find_if(std::begin(kProvenances), std::end(kProvenances),
                                    [&](const auto& p) { return p.first == provenance; });
    if (known == std::end(kProvenances))
      fail(node, fmt::format("provenance=\"{}\" must be published, common_practice or our_choice", provenance));
    rule.provenance = known->second;
    const bool has_limits = kind != RuleKind::fact;
    if (has_limits && rule.provenance == Provenance::published)
      fail(node, "say which of its numbers are published: <at_risk ... published=\"pinch_below\"/>");
    std::set<std::string> seen;
    for (const pugi::xml_node child : elements_of(node)) {
      const std::string part = child.name();
      if (!seen.insert(part).second) fail(child, fmt::format("<{}> is given twice", part));
      if (part == "standard" && has_limits)
        rule.standard = limits(child, kind);
      else if (part == "at_risk" && has_limits)
        rule.at_risk = limits(child, kind);
      else if (part == "source")
        rule.source = text(child);
      else if (part == "advice")
        rule.pinch_advice = text(child);
      else if (part == "slack" && has_limits)
        rule.slack_advice = text(child);
      else
        fail(child, fmt::format("<{}> does not belong into <{}>", part, node.name()));
    }
    const std::vector<const char*> needed = has_limits
                                                ? std::vector<const char*>{"standard", "at_risk", "source", "advice"}
                                                : std::vector<const char*>{"source", "advice"};
    for (const char* part : needed)
      if (!seen.contains(part)) fail(node, fmt::format("the rule for \"{}\" has no <{}>", rule_name(rule.id), part));
    if (seen.contains("slack") != (rule.standard.slack_above_mm || rule.at_risk.slack_above_mm))
      fail(node, fmt::format("the rule for \"{}\" must have a <slack> exactly when it has a slack_above",
                             rule_name(rule.id)));
    if (rule.at_risk.pinch_below_mm < rule.standard.pinch_below_mm ||
        rule.at_risk.watch_below_mm < rule.standard.watch_below_mm ||
        rule.at_risk.watch_above_mm.value_or(1e9) > rule.standard.watch_above_mm.value_or(1e9))
      fail(node, fmt::format("the at-risk limits of \"{}\" are laxer than the standard ones", rule_name(rule.id)));
    return rule;
  }

  std::string_view xml_;
  const std::string& name_;
  const Rules* built_in_;
};

Message keyed(std::string_view part, const Rule& rule, const std::string& text) {
  if (text.empty()) return {};
  const Message built_in{fmt::format("{}.{}", part, rule_name(rule.id))};
  return english(built_in) == text ? built_in : own_text(text);
}

}  // namespace

Rules default_rules() { return Reader(embedded::default_rules_xml, "default_rules.xml", nullptr).read(); }

Rules parse_rules(std::string_view xml, const std::string& name) {
  static const Rules built_in = default_rules();
  return Reader(xml, name, &built_in).read();
}

Rules read_rules(const std::filesystem::path& file) {
  constexpr std::uintmax_t kLargest = 1'000'000;  // the built-in rules are some 20,000 bytes
  const std::string name = file.filename().string();
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error))
    throw InputError(fmt::format("{}: there is no such rules file; check the name", name));
  if (std::filesystem::file_size(file, error) > kLargest || error)
    throw InputError(fmt::format("{}: a rules file has at most a million bytes; check the name", name));
  std::ifstream stream(file, std::ios::binary);
  const std::string xml{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
  if (!stream) throw InputError(fmt::format("{}: the rules file can't be read; check its permissions", name));
  return parse_rules(xml, name);
}

Message advice_of(const Rule& rule) { return keyed("advice", rule, rule.pinch_advice); }

Message slack_advice_of(const Rule& rule) { return keyed("slack", rule, rule.slack_advice); }

const Rule& rule_by(const Rules& rules, RuleId id) {
  for (const Rule& rule : rules.rules)
    if (rule.id == id) return rule;
  throw std::invalid_argument(fmt::format("there is no rule \"{}\"", rule_name(id)));
}

const Limits& limits_for(const Rule& rule, Wearer wearer) {
  return wearer == Wearer::standard ? rule.standard : rule.at_risk;
}

Provenance provenance_of(const Rule& rule, const Limits& limits, std::string_view limit) {
  const bool published = std::ranges::find(limits.published, limit) != limits.published.end();
  return published ? Provenance::published : rule.provenance;
}

Wearer graver(Wearer a, Wearer b) {
  if (a == Wearer::at_risk || b == Wearer::at_risk) return Wearer::at_risk;
  return a == Wearer::unknown ? a : b;
}

std::string_view wearer_name(Wearer wearer) {
  switch (wearer) {
    case Wearer::standard:
      return "standard";
    case Wearer::at_risk:
      return "at-risk";
    case Wearer::unknown:
      return "unknown";
  }
  return "unknown";
}

std::string_view provenance_name(Provenance provenance) {
  switch (provenance) {
    case Provenance::published:
      return "published";
    case Provenance::common_practice:
      return "common practice";
    case Provenance::our_choice:
      return "our choice";
  }
  return "";
}

}  // namespace lastroom
