#include <array>

#include "geometry/parallel.h"
#include "report/document.h"
#include "report/panels.h"

namespace lastroom {
namespace {

struct Panel {
  void (*add)(pugi::xml_node page, const Page& facts);
  bool needs_pose;  ///< shows nothing but where the foot stands: left out when that is not known
};
constexpr std::array kClientPanels = {Panel{client_panel, false}, Panel{cautions_panel, false}};
constexpr std::array kMakerPanels = {
    Panel{findings_panel, false},     Panel{clearance_panel, true}, Panel{sections_panel, true},
    Panel{toe_box_panel, true},       Panel{day_panel, true},       Panel{tightening_panel, true},
    Panel{corrections_panel, true},   Panel{found_panel, false},    Panel{measures_panel, true},
    Panel{registration_panel, false}, Panel{files_panel, false}};

/// Each panel draws into a document of its own, so that they can be drawn side by side.
template <std::size_t N>
void add_panels(pugi::xml_node main, const std::array<Panel, N>& panels, const Page& page) {
  const bool placed = page.fitting.assessment.verdict != Verdict::none;
  std::array<pugi::xml_document, N> drawn;
  for_blocks(N, 1, [&](std::size_t panel, std::size_t) {
    if (placed || !panels[panel].needs_pose) panels[panel].add(drawn[panel], page);
  });
  for (const pugi::xml_document& panel : drawn)
    for (const pugi::xml_node& node : panel) main.append_copy(node);
}

/// Makes the panels of one foot its own beside those of the other: every id and what points to it begin with the
/// side, every heading ends with it.
void name_side(pugi::xml_node node, const std::string& prefix, const std::string& side) {
  for (pugi::xml_attribute a : node.attributes()) {
    const std::string name = a.name(), value = a.value();
    if (name == "id" || name == "aria-labelledby") a.set_value((prefix + value).c_str());
    if (value.starts_with("url(#")) a.set_value(("url(#" + prefix + value.substr(5)).c_str());
  }
  const std::string kind = node.attribute("class").value();
  if (std::string_view(node.name()) == "h2" || kind == "kicker")
    node.text().set((std::string(node.text().get()) + " · " + side).c_str());
  for (const pugi::xml_node child : node.children()) name_side(child, prefix, side);
}

}  // namespace

std::string report_html(const Page& page) {
  Document document;
  open_document(document, page.settings, page.words, page.words("page.name"));
  add_panels(document.main, kClientPanels, page);
  add_panels(document.main, kMakerPanels, page);
  return text_of(document);
}

std::string pair_report_html(const Page& left, const Page& right) {
  Document document;
  open_document(document, left.settings, left.words, left.words("page.name"));
  pair_panel(document.main, left, right);
  pair_differences_panel(document.main, left, right);
  cautions_panel(document.main, left,
                 graver(left.fitting.settings.assessment.wearer, right.fitting.settings.assessment.wearer));
  for (const Page* page : {&left, &right}) {
    pugi::xml_document of_one_foot;
    add_panels(of_one_foot.append_child("div"), kMakerPanels, *page);
    const std::string side(side_name(page->fitting.foot.side));
    name_side(of_one_foot.first_child(), side + "-", page->words("side." + side));
    for (const pugi::xml_node& node : of_one_foot.first_child()) document.main.append_copy(node);
  }
  return text_of(document);
}

std::string report_html(const Fitting& fitting, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  return report_html(lay_out(fitting, settings, words));
}

std::string pair_report_html(const Fitting& left, const Fitting& right, const ReportSettings& settings) {
  const Words words(settings.language, settings.lengths);
  return pair_report_html(lay_out(left, settings, words), lay_out(right, settings, words));
}

}  // namespace lastroom
