#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/client_parts.h"
#include "report/document.h"
#include "report/shelf.h"
#include "report/text.h"

namespace lastroom {
namespace {

constexpr std::size_t kMostPictures = 60;  // a page that opens at once, however long the shelf (our choice)

/// Nothing, of a row that no rule decides.
std::string name_of(const Words& words, const std::optional<RuleId>& rule) {
  return rule ? rule_words(words, *rule) : std::string();
}

std::string count_of(const std::vector<ShelfRow>& rows, Fate fate) {
  return std::to_string(std::ranges::count(rows, fate, &ShelfRow::fate));
}

void add_head(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows, const ShelfHead& head,
              const ReportSettings& settings) {
  add_letterhead(page, words,
                 {{words("client.client"), settings.client, true},
                  date_entry(words, settings.date),
                  {words("client.foot"), words(fmt::format("side.{}", side_name(head.side)))},
                  {words("shelf.scan"), head.scan_file, true}});
  pugi::xml_node section = add(page, "section", "first alone");
  pugi::xml_node answer = add(section, "div", "answer");
  const bool any = !rows.empty() && rows.front().fate == Fate::judged;
  const Verdict best = any ? rows.front().verdict : Verdict::none;
  add_message(answer, "h1", "",
              {fmt::format("shelf.headline.{}", verdict_name(best)),
               {{"last", UserText{any ? plain_text(rows.front().file, 80) : ""}}}},
              words);
  add(answer, "p", "lead",
      words("shelf.foot", {{"length", words.length_number(head.length_mm, 0)},
                           {"girth", words.length_number(head.joint_girth_mm, 0)}}));
  add(answer, "p", "",
      words("shelf.counts", {{"all", std::to_string(rows.size())},
                             {"judged", count_of(rows, Fate::judged)},
                             {"left_out", count_of(rows, Fate::left_out)},
                             {"other_side", count_of(rows, Fate::other_side)},
                             {"unusable", count_of(rows, Fate::unusable)},
                             {"same_file", count_of(rows, Fate::same_file)}}));
  for (const Message& remark : head.remarks) add_message(answer, "p", "remark", remark, words);
  add_own_rules(answer, words, head.rules);
  add_first_caution(answer, words, head.wearer, head.wearer_reason);
}

std::string why(const Words& words, const ShelfRow& row) {
  const std::string text =
      words(row.margin.mm < 0.0 ? "shelf.beyond" : "shelf.inside",
            {{"mm", words.length_number(std::abs(row.margin.mm))}, {"what", name_of(words, row.margin.rule)}});
  if (!row.finding || row.finding == row.margin.rule) return text;
  const Words::Values values = {{"what", rule_words(words, *row.finding)},
                                {"mm", row.measured_mm ? words.length_number(*row.measured_mm) : ""},
                                {"limit", row.limit_mm ? limit_words(words, *row.finding, *row.limit_mm) : ""}};
  const bool measured = row.measured_mm && row.limit_mm;
  const std::string gravest = words(measured ? "shelf.gravest" : "shelf.gravest_fact", values);
  const std::string minus = measured && *row.measured_mm < 0.0 ? meaning_of_minus(words, *row.finding) : "";
  return fmt::format("{} {}{}{}", text, gravest, minus.empty() ? "" : " ", minus);
}

void add_judged_row(pugi::xml_node list, const Words& words, const ShelfRow& row, std::size_t rank,
                    const std::string& pictures) {
  pugi::xml_node item = add(list, "li");
  add(item, "span", "number", std::to_string(rank)).append_attribute("aria-hidden").set_value("true");
  pugi::xml_node text = add(item, "div");
  pugi::xml_node title = add(text, "p", "place");
  add_foreign(add(title, "strong"), row.file, 120);
  pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(row.verdict)));
  add_verdict_sign(tag, row.verdict);
  add(tag, "span", "", verdict_word(words, row.verdict));
  if (!row.doubt.empty()) add_message(text, "p", "remark", row.doubt, words);
  add(text, "p", "", why(words, row));
  if (row.mirrored) add(text, "p", "", words("shelf.mirrored"));
  add(text, "p", "quiet",
      words("shelf.size", {{"length", words.length_number(row.length_mm, 0)},
                           {"girth", words.length_number(row.joint_girth_mm, 0)},
                           {"heel", words.length_number(row.heel_height_mm, 0)},
                           {"allowance", words.length_number(row.allowance_mm, 0)}}));
  if (!row.report.empty()) {
    pugi::xml_node link = add(add(text, "p"), "a", "", words("shelf.full_report") + ": ");
    add_foreign(link, row.file, 120);
    link.append_attribute("href").set_value((row.report + "/report.html").c_str());
  }
  if (!pictures.empty()) item.append_buffer(pictures.data(), pictures.size(), pugi::parse_default, pugi::encoding_utf8);
}

void add_judged(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows, const ShelfHead& head,
                const PicturesOf& pictures_of) {
  if (rows.empty() || rows.front().fate != Fate::judged) return;
  pugi::xml_node section = add_section(page, words, "shelf_judged");
  const bool all = std::ranges::none_of(rows, [](const ShelfRow& row) { return row.fate == Fate::left_out; });
  add(section, "p", "", words("shelf.order"));
  add(section, "p", "",
      all ? words("shelf.certain_all") : words("shelf.certain", {{"count", std::to_string(head.best)}}));
  add(section, "p", "", words("shelf.colours"));
  pugi::xml_node list = add(section, "ol", "shelf");
  for (std::size_t i = 0; i < rows.size() && rows[i].fate == Fate::judged; ++i)
    add_judged_row(list, words, rows[i], i + 1, i < kMostPictures ? pictures_of(rows[i]) : "");
}

void add_left_out(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows) {
  Table table{words("shelf.left_out_caption"),
              {words("shelf.last"), words("shelf.length"), words("shelf.girth"), words("shelf.heel"),
               words("shelf.most"), words("shelf.because")},
              {}};
  for (const ShelfRow& row : rows)
    if (row.fate == Fate::left_out)
      table.rows.push_back({plain_text(row.file, 120), words.length_number(row.length_mm, 0),
                            words.length_number(row.joint_girth_mm, 0), words.length_number(row.heel_height_mm, 0),
                            words.length_number(row.sieve.most_margin_mm), name_of(words, row.sieve.rule)});
  if (table.rows.empty()) return;
  pugi::xml_node section = add_section(page, words, "shelf_left_out");
  add(section, "p", "", words("shelf.left_out_intro"));
  add_table(section, table);
}

void add_rest(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows) {
  pugi::xml_node list;
  for (const ShelfRow& row : rows) {
    if (row.fate == Fate::judged || row.fate == Fate::left_out) continue;
    if (!list) list = add(add_section(page, words, "shelf_rest"), "ul", "shelf-rest");
    pugi::xml_node item = add(list, "li");
    add_foreign(add(item, "strong"), row.file, 120);
    if (row.fate == Fate::unusable)
      add_message(item, "p", "", row.problem, words);
    else if (row.fate == Fate::other_side)
      add(item, "p", "", words("shelf.why_other_side"));
    else
      add_message(item, "p", "", {"shelf.why_same_file", {{"last", UserText{plain_text(row.same_as, 120)}}}}, words);
  }
}

}  // namespace

std::string shelf_html(const std::vector<ShelfRow>& rows, const ShelfHead& head, const ReportSettings& settings,
                       const PicturesOf& pictures_of) {
  const Words words(settings.language, settings.lengths);
  Document document;
  open_document(document, settings, words, words("shelf.name"));
  add_head(document.main, words, rows, head, settings);
  add_judged(document.main, words, rows, head, pictures_of);
  add_left_out(document.main, words, rows);
  add_rest(document.main, words, rows);
  return text_of(document);
}

}  // namespace lastroom
