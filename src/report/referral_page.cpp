#include <fmt/format.h>

#include <algorithm>
#include <span>

#include "measurement/named_measures.h"
#include "report/client_parts.h"
#include "report/document.h"
#include "report/panels.h"

namespace lastroom {
namespace {

constexpr std::size_t kMostFindings = 12;  // a sheet to be read at a table; all of them are in the report

void add_findings(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  Table table{words("referral.findings"),
              {words("referral.place"), words("findings.verdict"), words("findings.measured"), words("findings.limit")},
              {}};
  for (const Place& place : std::span(facts.places).first(std::min(facts.places.size(), kMostFindings))) {
    const Finding& finding = *place.finding;
    const std::string limit = finding.limit_mm
                                  ? limit_words(words, finding.rule, *finding.limit_mm) + " " + words.length_unit()
                                  : std::string("–");
    table.rows.push_back({fmt::format("{}. {}", place.number, subject(words, finding)),
                          verdict_word(words, finding.verdict),
                          with_doubt(words, finding.measured_mm, finding.sigma_mm), limit});
  }
  if (table.rows.empty())
    add(page, "p", "", words("findings.none"));
  else
    add_table(page, table);
  if (facts.places.size() > kMostFindings)
    add(page, "p", "quiet", words("referral.more", {{"count", std::to_string(facts.places.size() - kMostFindings)}}));
}

void add_measures(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const Fitting& fitting = facts.fitting;
  Table table{
      words("measures.caption"), {words("measures.measure"), words("measures.foot"), words("measures.last")}, {}};
  const std::vector<NamedMeasure> of_foot = shared_measures(fitting.foot_measures),
                                  of_last = shared_measures(fitting.last_measures);
  for (std::size_t i = 0; i < of_foot.size(); ++i)
    table.rows.push_back(
        {words(fmt::format("measure.{}", of_foot[i].name)), words.length(of_foot[i].mm), words.length(of_last[i].mm)});
  add_table(page, table);
}

/// Which limits the verdict is by, and whose hand stands for what is decided.
void add_judged_by(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  const AssessmentSettings& judged = facts.fitting.settings.assessment;
  add_message(page, "p", "",
              {"referral.judged_by",
               {{"wearer", Message{fmt::format("referral.wearer.{}", wearer_name(judged.wearer))}},
                {"load", Message{fmt::format("referral.load.{}", static_cast<int>(judged.scan_load))}},
                {"sock_mm", Quantity{facts.fitting.settings.registration.sock_mm, 1}}}},
              words);
}

void add_signature(pugi::xml_node page, const Words& words) {
  pugi::xml_node section = add_section(page, words, "referral_sign");
  pugi::xml_node decided = add(section, "ul", "boxes");
  for (const char* key : {"referral.may", "referral.after_changes", "referral.not"}) add(decided, "li", "", words(key));
  pugi::xml_node lines = add(section, "dl", "signature");
  for (const char* key :
       {"referral.remarks", "referral.name", "referral.number", "referral.date", "referral.signature"}) {
    pugi::xml_node line = add(lines, "div");
    add(line, "dt", "", words(key));
    add(line, "dd", "", "\u00a0");
  }
}

}  // namespace

std::string referral_html(const Page& page) {
  const Fitting& fitting = page.fitting;
  const ReportSettings& settings = page.settings;
  const Words& words = page.words;
  const AssessmentSettings& judged = fitting.settings.assessment;
  Document document;
  open_document(document, settings, words, words("referral.page"));
  pugi::xml_node main = document.main;
  main.append_attribute("class").set_value("referral");
  add_letterhead(main, words,
                 {{words("client.client"), settings.client, true},
                  date_entry(words, settings.date),
                  {words("client.foot"), words(fmt::format("side.{}", side_name(fitting.foot.side)))},
                  {words("client.last"), fitting.last.facts.file, true}},
                 "referral.page");
  pugi::xml_node first = add(main, "section", "first");
  pugi::xml_node answer = add(first, "div", "answer");
  add_doubts(answer, words, fitting);
  add(answer, "h1", "", words("referral.title"));
  add(answer, "p", "lead", words(fmt::format("headline.{}", tidings_name(tidings_of(fitting)))));
  add_own_rules(answer, words, fitting.rules);
  add_first_caution(answer, words, judged.wearer, judged.wearer_reason);
  add_judged_by(answer, page);
  if (fitting.assessment.verdict != Verdict::none) add_foot_from_above(first, page);
  pugi::xml_node findings = add_section(main, words, "referral_findings");
  add_findings(findings, page);
  add_measures(findings, page);
  cautions_panel(main, page);
  add_signature(main, words);
  return text_of(document);
}

std::string referral_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  return referral_html(lay_out(fitting, settings, words));
}

}  // namespace lastroom
