#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "report/client_parts.h"
#include "report/document.h"
#include "report/overview.h"

namespace lastroom {
namespace {

using State = OverviewLine::State;

std::size_t count_of(const std::vector<OverviewLine>& lines, State state) {
  return static_cast<std::size_t>(std::ranges::count(lines, state, &OverviewLine::state));
}

/// "4 of 5 jobs are done. One could not be done." What there is none of is not told.
std::string headline(const Words& words, const std::vector<OverviewLine>& lines) {
  constexpr std::array<std::pair<State, const char*>, 3> kStates = {
      {{State::done, "done"}, {State::failed, "failed"}, {State::waiting, "waiting"}}};
  std::string text;
  for (const auto& [state, name] : kStates) {
    const std::size_t count = count_of(lines, state);
    if (count == lines.size()) return words(Message{fmt::format("overview.all_{}", name), {{"count", count}}});
    if (count == 0) continue;
    if (!text.empty()) text += " ";
    text += words(Message{fmt::format("overview.some_{}", name), {{"some", count}, {"count", lines.size()}}});
  }
  return text;
}

/// "3 pinch, 5 watch", the gravest first.
std::string verdicts_in(const Words& words, const std::vector<OverviewLine>& lines) {
  std::string text;
  for (const Verdict verdict : {Verdict::none, Verdict::pinch, Verdict::watch, Verdict::slack, Verdict::clear}) {
    const auto count = std::ranges::count_if(
        lines, [&](const OverviewLine& line) { return line.state == State::done && line.verdict == verdict; });
    if (count > 0) text += fmt::format("{}{} × {}", text.empty() ? "" : ", ", count, verdict_word(words, verdict));
  }
  return text;
}

void add_line(pugi::xml_node list, const Words& words, const OverviewLine& line) {
  pugi::xml_node item = add(list, "li");
  pugi::xml_node title = add(item, "p", "place");
  pugi::xml_node name = add(title, "strong");
  name.append_child(pugi::node_pcdata).set_value(fmt::format("{}. ", line.number).c_str());
  add_foreign(name, line.client.empty() ? line.scan : line.client, 120);
  if (line.state == State::done) {
    pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(line.verdict)));
    add_verdict_sign(tag, line.verdict);
    add(tag, "span", "", verdict_word(words, line.verdict));
  }
  const Message files = line.last.empty()
                            ? Message{"overview.scan", {{"scan", UserText{line.scan}}}}
                            : Message{"overview.files", {{"scan", UserText{line.scan}}, {"last", UserText{line.last}}}};
  add_message(item, "p", "quiet", files, words);
  for (std::size_t i = 0; i < line.of_feet.size(); ++i)
    add(item, "p", "",
        fmt::format("{}: {}", words(i == 0 ? "pair.left" : "pair.right"), verdict_word(words, line.of_feet[i])));
  if (!line.problem.empty()) add_message(item, "p", "remark", line.problem, words);
  if (!line.doubt.empty()) add_message(item, "p", "remark", line.doubt, words);
  if (line.page.empty()) return;
  pugi::xml_node link =
      add(add(item, "p"), "a", "",
          fmt::format("{} {}", words(line.state == State::done ? "overview.report" : "overview.refusal"), line.number));
  link.append_attribute("href").set_value(line.page.c_str());
}

void add_lines(pugi::xml_node page, const Words& words, const std::vector<OverviewLine>& lines, State state,
               const char* id) {
  if (count_of(lines, state) == 0) return;
  pugi::xml_node list = add(add_section(page, words, id), "ul", "shelf-rest");
  for (const OverviewLine& line : lines)
    if (line.state == state) add_line(list, words, line);
}

}  // namespace

std::string overview_html(const std::vector<OverviewLine>& lines, const RulesHead& rules,
                          const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  Document document;
  open_document(document, settings, words, words("overview.name"));
  add_letterhead(document.main, words, {date_entry(words, settings.date)}, "overview.name");
  pugi::xml_node answer = add(add(document.main, "section", "first alone"), "div", "answer");
  add(answer, "h1", "", headline(words, lines));
  if (const std::string verdicts = verdicts_in(words, lines); !verdicts.empty()) add(answer, "p", "lead", verdicts);
  Wearer gravest = Wearer::standard;
  for (const OverviewLine& line : lines) gravest = graver(gravest, line.wearer);
  add(add(answer, "div", gravest == Wearer::standard ? "caution" : "caution grave"), "p", "",
      first_caution(words, gravest));
  add_own_rules(answer, words, rules);
  add_lines(document.main, words, lines, State::failed, "overview_failed");
  add_lines(document.main, words, lines, State::done, "overview_done");
  add_lines(document.main, words, lines, State::waiting, "overview_waiting");
  return text_of(document);
}

}  // namespace lastroom
