#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitting.h"
#include "words/words.h"

namespace lastroom {

/// A small picture: its media type and its file's bytes, which stand in the page itself.
struct Logo {
  std::string media_type, bytes;
};

/// The maker's, for the client's page and the mail. Every line may be empty, and may hold any bytes but for `mail`,
/// which is one address in ASCII.
struct Letterhead {
  std::string name;
  std::vector<std::string> address = {};
  std::string telephone = {}, mail = {}, sign_off = {};
  Logo logo = {};

  bool empty() const {
    return name.empty() && address.empty() && telephone.empty() && mail.empty() && logo.bytes.empty();
  }
};

enum class Paper { a4, letter };

struct ReportSettings {
  std::string client;           ///< may be empty; any bytes: shown as text, never as markup
  std::string date;             ///< YYYY-MM-DD; may be empty
  std::string language = "en";  ///< one of report_languages()
  Letterhead letterhead = {};
  Lengths lengths = Lengths::millimetres;  ///< of every page and the mail; never of result.json, tables and templates
  Paper paper = Paper::a4;
};

std::string_view tool_version();

/// How long a check took, by stage; empty where nobody looked at the clock.
struct Timing {
  std::array<std::optional<double>, kStageCount> stage_s = {};
  std::optional<double> total_s;
};

/// The contract's result.json. Lengths are rounded to 0.0001 mm; the two matrices are not.
std::string result_json(const Fitting& fitting, const Timing& timing = {});
/// The posed skin in the last frame as worn, with a colour and the clearance on every vertex.
std::string clearance_ply(const Fitting& fitting);
/// The corrected last, in any place, with a colour and how far it was built up on every vertex: red where it was, blue
/// where it was taken down.
std::string change_ply(const Fitting& fitting, const Mesh& corrected);
/// One self-contained page: no script, nothing fetched. Same fitting and settings, same bytes.
/// Throws std::invalid_argument when the language is not one of report_languages().
std::string report_html(const Fitting& fitting, const ReportSettings& settings);
/// A short page for the client: what was found in a sentence, at most three places, what happens next, cautions, and
/// the maker's letterhead. Nothing of the workshop.
std::string client_html(const Fitting& fitting, const ReportSettings& settings);
/// The same for both feet of a client on one page.
std::string pair_client_html(const Fitting& left, const Fitting& right, const ReportSettings& settings);
/// For the professional who checks the fit: findings, measures, limits used, and room for a decision and a signature.
std::string referral_html(const Fitting& fitting, const ReportSettings& settings);
/// The same as report_html for both feet of a client: which is the larger, a verdict for each, and both makers' parts.
std::string pair_report_html(const Fitting& left, const Fitting& right, const ReportSettings& settings);
/// A foot, or a last, measured: how like one it is, what was found on it, its measures.
std::string measure_html(const ReadyFoot& foot, const ReportSettings& settings);
std::string measure_html(const ReadyLast& last, const ReportSettings& settings);
/// What was given and can't be judged: foot and last as read, what was seen, what to do.
std::string refusal_html(const std::variant<ReadyFoot, Refused>& foot, const std::variant<ReadyLast, Refused>& last,
                         const ReportSettings& settings);
/// The same for what was refused by `measure`.
std::string refusal_html(const Refused& body, const ReportSettings& settings);
enum class Attached { client_page, whole_report };
/// A mail with subject, plain summary and a page attached (RFC 5322, MIME), for a mail program to open and send. It
/// names no recipient, and a sender only by the letterhead. Attached is the client's page, or the whole report.
std::string mail_draft(const Fitting& fitting, const ReportSettings& settings, Attached what, std::string_view html);
/// The same for both feet.
std::string pair_mail_draft(const Fitting& left, const Fitting& right, const ReportSettings& settings, Attached what,
                            std::string_view html);
/// Plan and profile, 1:1 in mm, of the room that toes and limits ask for, with the last's outline, what is to be added
/// and taken away, and a 100 mm bar: a toe can be styled against it at the bench. It fits A4 and Letter. Empty when
/// there is nothing in front of the joint.
std::string template_svg(const Fitting& fitting, const ReportSettings& settings = {});
/// The last's sides, and its bottom where that is changed, laid flat at 1:1 in mm with what is to be added and taken
/// away: a page to print on several sheets and to wrap the last in. Empty when nothing is to be changed.
std::string bench_sheet_html(const Fitting& fitting, const ReportSettings& settings);

}  // namespace lastroom
