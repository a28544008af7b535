#include <fmt/format.h>

#include <algorithm>
#include <array>
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

/// What the last is called by: model, size and width, or its file.
Message called(const ShelfRow& row) {
  const auto text = [](const std::string& bytes) { return UserText{plain_text(bytes, 80)}; };
  const LastName& name = row.name;
  if (name.model.empty() && name.size.empty()) return {"own_text", {{"text", text(row.file)}}};
  const Message size = name.size.empty() ? Message{} : Message{"shelf.of_size", {{"size", text(name.size)}}};
  const Message width = name.width.empty() ? Message{} : Message{"shelf.of_width", {{"width", text(name.width)}}};
  return {name.model.empty() ? "shelf.called_by_size" : "shelf.called",
          {{"model", text(name.model)}, {"size", size}, {"width", width}}};
}

/// How many of the files came to what; what none came to is not told.
std::string counts(const Words& words, const std::vector<ShelfRow>& rows) {
  constexpr std::array<std::pair<Fate, const char*>, 6> kFates = {{{Fate::judged, "judged"},
                                                                   {Fate::left_out, "left_out"},
                                                                   {Fate::other_side, "other_side"},
                                                                   {Fate::unusable, "unusable"},
                                                                   {Fate::same_file, "same_file"},
                                                                   {Fate::not_asked, "not_asked"}}};
  std::string list;
  for (const auto& [fate, name] : kFates)
    if (const auto count = std::ranges::count(rows, fate, &ShelfRow::fate); count > 0)
      list +=
          (list.empty() ? "" : "; ") + words(fmt::format("shelf.count.{}", name), {{"count", std::to_string(count)}});
  return list;
}

void add_size(pugi::xml_node answer, const Words& words, const ShelfHead& head, const std::string& foot) {
  if (!head.feet.empty()) return;
  add(answer, "p", "lead",
      (foot.empty() ? "" : words(foot) + ": ") +
          words("shelf.foot", {{"length", words.length_number(head.length_mm, 0)},
                               {"girth", words.length_number(head.joint_girth_mm, 0)}}));
}

std::string listed(const Words& words, const std::vector<RuleId>& rules) {
  constexpr std::size_t kMost = 3;
  std::string text;
  for (std::size_t i = 0; i < std::min(kMost, rules.size()); ++i)
    text += (text.empty() ? "" : ", ") + rule_words(words, rules[i]);
  return text;
}

/// Another size or another width of the same model.
bool is_next_to(const ShelfRow& a, const ShelfRow& b) {
  const bool same_size = a.name.size == b.name.size, same_width = a.name.width == b.name.width;
  return !a.name.model.empty() && a.name.model == b.name.model && same_size != same_width;
}

/// A size that no shelf holds may be the answer: what lacks length at the toes alone may be had from half a size
/// longer, or a whole one. Half a size is a sixth of an inch (Rossi 2000; ISO/TS 19407); of more we tell nothing (our
/// choice).
void add_longer(pugi::xml_node answer, const Words& words, const std::vector<ShelfRow>& rows) {
  constexpr double kHalfSize_mm = 25.4 / 6.0;
  const ShelfRow& nearest = rows.front();
  constexpr std::array kOfLength = {RuleId::toe_room, RuleId::allowance, rule_of(Zone::big_toe_tip),
                                    rule_of(Zone::middle_toes_tip), rule_of(Zone::fifth_toe_tip)};
  const std::optional<RuleId>& rule = nearest.margin.rule;
  if (!rule || std::ranges::find(kOfLength, *rule) == kOfLength.end()) return;
  const bool lacks = nearest.finding == rule && nearest.measured_mm < nearest.limit_mm;  // not: has too much
  if (!lacks) return;
  const double halves = std::ceil(-nearest.margin.mm / kHalfSize_mm);
  if (halves < 1.0 || halves > 2.0) return;
  const double longer_mm = halves * kHalfSize_mm;
  const bool on_shelf = std::ranges::any_of(rows, [&](const ShelfRow& row) {
    return row.name.model == nearest.name.model && row.fate == Fate::judged &&
           row.length_mm > nearest.length_mm + 0.5 * kHalfSize_mm &&
           row.length_mm < nearest.length_mm + 1.5 * longer_mm;
  });
  if (on_shelf) return;
  add(answer, "p", "remark",
      words(halves > 1.0 ? "shelf.size_longer" : "shelf.half_size_longer",
            {{"mm", words.length_number(longer_mm)}, {"what", name_of(words, rule)}}));
}

/// Why none fits, and what the other sizes and widths of the nearest one's model would free, at what price.
void add_advice(pugi::xml_node answer, const Words& words, const std::vector<ShelfRow>& rows) {
  constexpr int kMost = 3;
  const ShelfRow& nearest = rows.front();
  if (nearest.verdict == Verdict::pinch && nearest.margin.mm < 0.0)
    add(answer, "p", "lead",
        words("shelf.closest",
              {{"mm", words.length_number(-nearest.margin.mm)}, {"what", name_of(words, nearest.margin.rule)}}));
  int told = 0;
  for (const ShelfRow& row : rows) {
    if (row.fate != Fate::judged || !is_next_to(nearest, row) || told == kMost) continue;
    std::vector<RuleId> freed = nearest.wrong;
    std::erase_if(freed, [&](RuleId rule) { return std::ranges::find(row.wrong, rule) != row.wrong.end(); });
    if (freed.empty()) continue;
    const bool at_a_price = row.margin.mm < 0.0 && row.margin.rule;
    add(answer, "p", "remark",
        words(at_a_price ? "shelf.would_free_but" : "shelf.would_free", {{"last", words(called(row))},
                                                                         {"what", listed(words, freed)},
                                                                         {"worst", name_of(words, row.margin.rule)}}));
    ++told;
  }
  add_longer(answer, words, rows);
}

void add_head(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows, const ShelfHead& head,
              const ReportSettings& settings) {
  add_letterhead(page, words,
                 {{words("client.client"), settings.client, true},
                  date_entry(words, settings.date),
                  {words("client.foot"),
                   head.feet.empty() ? words(fmt::format("side.{}", side_name(head.side))) : words("pair.both_feet")},
                  {words("shelf.scan"), head.scan_file, true}});
  pugi::xml_node section = add(page, "section", "first alone");
  pugi::xml_node answer = add(section, "div", "answer");
  const bool any = !rows.empty() && rows.front().fate == Fate::judged;
  const Verdict best = any ? rows.front().verdict : Verdict::none;
  add_message(
      answer, "h1", "",
      {fmt::format("shelf.headline.{}", verdict_name(best)), {{"last", any ? called(rows.front()) : Message{}}}},
      words);
  if (any) add_advice(answer, words, rows);
  add_size(answer, words, head, "");
  for (const ShelfHead& foot : head.feet)
    add_size(answer, words, foot, foot.side == Side::left ? "pair.left" : "pair.right");
  add(answer, "p", "", words("shelf.counts", {{"all", std::to_string(rows.size())}, {"list", counts(words, rows)}}));
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

/// Of a pair: which foot decides its place, and how the last is for each.
void add_feet(pugi::xml_node text, const Words& words, const ShelfRow& row) {
  if (row.decides) add(text, "p", "", words(fmt::format("shelf.decides.{}", side_name(*row.decides))));
  for (std::size_t i = 0; i < row.feet.size(); ++i)
    add(text, "p", "",
        fmt::format("{}: {}. {}", words(i == 0 ? "pair.left" : "pair.right"), verdict_word(words, row.feet[i].verdict),
                    why(words, row.feet[i])));
}

void add_judged_row(pugi::xml_node list, const Words& words, const ShelfRow& row, std::size_t rank,
                    const std::string& pictures) {
  pugi::xml_node item = add(list, "li");
  add(item, "span", "number", std::to_string(rank)).append_attribute("aria-hidden").set_value("true");
  pugi::xml_node text = add(item, "div");
  pugi::xml_node title = add(text, "p", "place");
  add_message(title, "strong", "", called(row), words);
  pugi::xml_node tag = add(title, "span", fmt::format("tag {}", verdict_name(row.verdict)));
  add_verdict_sign(tag, row.verdict);
  add(tag, "span", "", verdict_word(words, row.verdict));
  if (!row.doubt.empty()) add_message(text, "p", "remark", row.doubt, words);
  if (row.feet.empty())
    add(text, "p", "", why(words, row));
  else
    add_feet(text, words, row);
  if (row.mirrored) add(text, "p", "", words("shelf.mirrored"));
  add(text, "p", "quiet",
      words("shelf.size", {{"length", words.length_number(row.length_mm, 0)},
                           {"girth", words.length_number(row.joint_girth_mm, 0)},
                           {"heel", words.length_number(row.heel_height_mm, 0)},
                           {"allowance", words.length_number(row.allowance_mm, 0)}}));
  if (row.told_heel_mm)
    add(text, "p", "quiet", words("shelf.told_heel", {{"mm", words.length_number(*row.told_heel_mm, 0)}}));
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

/// The nearest size and width of every model, the best model first; nothing where no last has a model.
void add_models(pugi::xml_node page, const Words& words, const std::vector<ShelfRow>& rows) {
  Table table{
      words("shelf_models.caption"), {words("shelf.model"), words("shelf.nearest"), words("shelf.verdict")}, {}};
  std::vector<std::string> models;
  for (const ShelfRow& row : rows) {
    const std::string& model = row.name.model;
    const bool known = model.empty() || std::ranges::find(models, model) != models.end();
    if (known || (row.fate != Fate::judged && row.fate != Fate::left_out)) continue;
    models.push_back(model);
    const bool judged = row.fate == Fate::judged;
    table.rows.push_back({plain_text(model, 80), judged ? words(called(row)) : words("shelf.model_left_out"),
                          judged ? verdict_word(words, row.verdict) : "–"});
  }
  if (table.rows.size() < 2) return;
  add_table(add_section(page, words, "shelf_models"), table);
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
    else if (row.fate == Fate::not_asked)
      add(item, "p", "", words("shelf.why_not_asked"));
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
  add_models(document.main, words, rows);
  add_judged(document.main, words, rows, head, pictures_of);
  add_left_out(document.main, words, rows);
  add_rest(document.main, words, rows);
  return text_of(document);
}

}  // namespace lastroom
