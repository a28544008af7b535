#pragma once

#include <memory>
#include <mutex>
#include <optional>
#include <pugixml.hpp>
#include <string>
#include <vector>

#include "report/looks.h"
#include "report/outputs.h"
#include "report/relief.h"
#include "report/svg.h"
#include "report/worn.h"
#include "words/words.h"

namespace lastroom {

/// A finding under the number that it has all through the report.
struct Place {
  int number = 0;
  const Finding* finding = nullptr;
  std::optional<Vec3> at_mm;  ///< last frame, as worn
};

/// A body from one side, with its outline as path data.
struct Seen {
  Raster raster;
  std::string outline;
};

/// Drawn when it is first asked for, by whichever thread; copies share it.
template <class Picture>
class Drawn {
 public:
  template <class Draw>
  const Picture& by(const Draw& draw) const {
    std::call_once(state_->once, [&] { state_->picture = draw(); });
    return state_->picture;
  }

 private:
  struct State {
    std::once_flag once;
    Picture picture;
  };
  std::shared_ptr<State> state_ = std::make_shared<State>();
};

/// A body from every side.
class Views {
 public:
  Views(const MeshView& body, Side side) : body_(body), side_(side) {}
  const Seen& from(Look look) const;

 private:
  MeshView body_;
  Side side_;
  std::array<Drawn<Seen>, kLooks.size()> drawn_;
};

/// Where a change of the last runs out to nothing, in its pictures.
constexpr double kChangeRim_mm = 0.3;

/// What every panel draws from.
struct Page {
  const Fitting& fitting;
  const ReportSettings& settings;
  const Words& words;
  MeshView skin, last;                                  ///< posed skin and last: last frame, as worn
  std::array<std::shared_ptr<const Mesh>, 2> mirrored;  ///< what they look at when the foot is a left one
  WornLandmarks landmarks;
  Views skin_views, last_views;
  Drawn<Relief> relief;

  const Seen& skin_from(Look look) const { return skin_views.from(look); }
  const Seen& last_from(Look look) const { return last_views.from(look); }
  const Relief& relief_from_above() const;  ///< of the skin
  Grid light_from_above() const;            ///< on it, as light_on
  std::vector<Place> places;                ///< all findings, gravest first, numbered from 1
};
Page lay_out(const Fitting& fitting, const ReportSettings& settings, const Words& words);

// The pages of outputs.h from one laying out: what they show alike is drawn once.
std::string report_html(const Page& page);
std::string client_html(const Page& page);
std::string referral_html(const Page& page);
std::string pair_report_html(const Page& left, const Page& right);
std::string pair_client_html(const Page& left, const Page& right);

pugi::xml_node add(pugi::xml_node parent, const char* tag, std::string_view kind = {});
pugi::xml_node add(pugi::xml_node parent, const char* tag, std::string_view kind, const std::string& text);
/// Foreign text (client, file name, mark) that is in no language and must not change the direction of what stands
/// around it.
void add_foreign(pugi::xml_node parent, const std::string& bytes, std::size_t most = 255);
/// A fact in the page's language; foreign text in it is marked as being in none.
pugi::xml_node add_message(pugi::xml_node parent, const char* tag, std::string_view kind, const Message& message,
                           const Words& words);

/// A section with its heading; `id` is its anchor and the key of its heading ("ID.heading").
pugi::xml_node add_section(pugi::xml_node parent, const Words& words, const char* id);

/// A table with column headings; the first cell of every row heads the row.
struct Table {
  std::string caption;
  std::vector<std::string> columns;
  std::vector<std::vector<std::string>> rows;
};
void add_table(pugi::xml_node parent, const Table& table);

/// Disc whose filling tells the verdict without colour: empty clear, dashed slack, half watch, full pinch.
void add_verdict_sign(pugi::xml_node parent, Verdict verdict);
std::string verdict_word(const Words& words, Verdict verdict);

/// Name of what a finding is about: its zone, or its rule.
std::string subject(const Words& words, const Finding& finding);
/// Name of a rule: its zone's, or its own.
std::string rule_words(const Words& words, RuleId rule);
/// "6.0", or "± 6.4" where the rule watches a difference either way.
std::string limit_words(const Words& words, RuleId rule, double limit_mm);
/// What a minus means in this rule's difference; empty where it has no sign.
std::string meaning_of_minus(const Words& words, RuleId rule);
/// "−2.3 ± 1.1 mm"; a dash when nothing was measured.
std::string with_doubt(const Words& words, const std::optional<double>& value_mm,
                       const std::optional<double>& sigma_mm);

}  // namespace lastroom
