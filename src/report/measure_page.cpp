#include <fmt/format.h>

#include "measurement/named_measures.h"
#include "preparation/other_body.h"
#include "report/client_parts.h"
#include "report/document.h"
#include "report/found_body.h"

namespace lastroom {
namespace {

/// What the page is of, how like that it is, and what to look at first.
void add_first(Document& document, const ReportSettings& settings, const Words& words, const InputFacts& file,
               const std::string& what, const Message& likeness, const std::optional<Message>& doubt) {
  open_document(document, settings, words, words("measure_page.name"));
  add_letterhead(document.main, words,
                 {{words("client.client"), settings.client, true},
                  date_entry(words, settings.date),
                  {words("measure_page.file"), file.file, true}},
                 "measure_page.name");
  pugi::xml_node answer = add(add(document.main, "section", "first alone"), "div", "answer");
  add(answer, "h1", "", what);
  if (doubt)
    add_message(add(answer, "div", "caution grave"), "p", "", {"repair.look_first", {{"doubt", *doubt}}}, words);
  add_message(answer, "p", "lead", likeness, words);
  add(add(answer, "div", "caution"), "p", "", first_caution(words, Wearer::standard));
}

template <class Measures>
void add_measures(Document& document, const Measures& measures, const Words& words) {
  pugi::xml_node section = add_section(document.main, words, "measures");
  Table table{words("measure_page.caption"), {words("measures.measure"), words("measures.value")}, {}};
  for (const auto& rows : {shared_measures(measures), further_measures(measures)})
    for (const NamedMeasure& m : rows)
      table.rows.push_back({words(fmt::format("measure.{}", m.name)), words.length(m.mm)});
  add_table(section, table);
  add(section, "p", "quiet", words("measures.source"));
}

void add_end(Document& document, const InputFacts& file, const std::vector<Message>& remarks, const Words& words) {
  pugi::xml_node section = add_section(document.main, words, "measured_file");
  for (const Message& remark : remarks) add_message(section, "p", "remark", remark, words);
  add(section, "p", "", words(file.repairs.empty() ? "files.no_repairs" : "files.repairs"));
  if (!file.repairs.empty()) {
    pugi::xml_node list = add(section, "ul");
    for (const Message& repair : file.repairs) add_message(list, "li", "", repair, words);
  }
  add(section, "p", "quiet", words("files.privacy"));
}

}  // namespace

std::string measure_html(const ReadyFoot& foot, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  Document document;
  add_first(document, settings, words, foot.foot.facts,
            words(fmt::format("measure_page.foot.{}", side_name(foot.foot.side))), likeness_of(foot.foot),
            doubt_of_a_foot(foot.foot));
  add_found_foot(add_section(document.main, words, "found"), foot.foot, foot.measures, words);
  add_measures(document, foot.measures, words);
  add_end(document, foot.foot.facts, foot.measures.outside_population, words);
  return text_of(document);
}

std::string measure_html(const ReadyLast& last, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  Document document;
  add_first(document, settings, words, last.last.facts,
            words(fmt::format("measure_page.last.{}", side_name(last.last.side))), likeness_of(last.last),
            doubt_of_a_last(last.last));
  add_found_last(add_section(document.main, words, "found_last"), last.last, last.measures, words);
  add_measures(document, last.measures, words);
  add_end(document, last.last.facts, {}, words);
  return text_of(document);
}

}  // namespace lastroom
