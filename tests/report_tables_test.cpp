// A rule and a zone are known in four places: their table, the rules file, the line that measures them and the words.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>

#include "assessment/rules.h"
#include "report/outputs.h"
#include "words/words.h"
#include "zones/zones.h"

using namespace lastroom;

namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  REQUIRE(in);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// The values of `"name"="..."` or the words after a prefix, as a text search finds them: independent of the readers.
std::set<std::string> found_in(const std::string& text, const char* pattern) {
  const std::regex regex(pattern);
  std::set<std::string> found;
  for (std::sregex_iterator it(text.begin(), text.end(), regex), end; it != end; ++it) found.insert((*it)[1]);
  return found;
}

}  // namespace

TEST_CASE("every row of the tables stands at its own number") {
  for (std::size_t z = 0; z <= kZoneCount; ++z) CHECK(kZones[z].zone == static_cast<Zone>(z));
  std::set<std::string_view> names;
  for (std::size_t r = 0; r < kRuleCount; ++r) {
    const auto id = static_cast<RuleId>(r);
    CHECK(traits_of(id).id == id);
    CHECK(find_rule(rule_name(id)) == id);
    CHECK(names.insert(rule_name(id)).second);
  }
  CHECK_FALSE(find_rule("no such rule").has_value());
}

TEST_CASE("a rule is in the table, the rules file, the code that measures it and every catalogue, or in none") {
  std::set<std::string> table;
  for (std::size_t r = 0; r < kRuleCount; ++r) table.insert(std::string(rule_name(static_cast<RuleId>(r))));
  CHECK(found_in(text_of("src/assessment/default_rules.xml"), R"(<(?:zone|room|difference|fact) name="(\w+)\")") ==
        table);
  std::set<std::string> measured = found_in(text_of("src/assessment/findings.cpp"), R"(RuleId::(\w+))");
  for (std::size_t z = 0; z < kZoneCount; ++z) measured.insert(std::string(kZones[z].name));  // all by one line
  CHECK(measured == table);
  for (const std::string& language : report_languages()) {
    const Words words(language);
    CAPTURE(language);
    for (std::size_t r = 0; r < kRuleCount; ++r) {
      const RuleTraits traits = traits_of(static_cast<RuleId>(r));
      const std::string name(traits.name);
      CAPTURE(name);
      CHECK(words.has((traits.kind == RuleKind::zone ? "zone." : "rule.") + name));
      CHECK(words.has("minus." + name) == traits.two_sided);
    }
  }
}

TEST_CASE("a zone is in the table, on made skin, and in every catalogue") {
  const std::set<std::string> placed = found_in(text_of("src/zones/zones.cpp"), R"(Zone::(\w+))");
  for (std::size_t z = 0; z < kZoneCount; ++z) {
    const std::string name(kZones[z].name);
    CAPTURE(name);
    CHECK(placed.contains(name));
    CHECK(kZones[z].smallest_mm2 > 0.0);
    for (const std::string& language : report_languages())
      for (const char* kind : {"zone.", "plain_zone.", "zone_in_sentence."}) CHECK(Words(language).has(kind + name));
  }
}
