#include <fmt/format.h>

#include "digest/digest.h"
#include "report/client_parts.h"
#include "report/page.h"
#include "report/plain_words.h"
#include "report/text.h"

namespace lastroom {
namespace {

/// Lines of 76 characters (RFC 2045, section 6.8).
std::string base64_lines(std::string_view bytes) {
  const std::string text = base64(bytes);
  std::string lines;
  for (std::size_t at = 0; at < text.size(); at += 76) lines += text.substr(at, 76) + "\r\n";
  return lines;
}

/// A header's text as encoded words of at most 75 characters, cut between characters (RFC 2047, section 2).
std::string encoded_words(const std::string& text) {
  constexpr std::size_t kBytes = 42;  // 56 base64 characters and 12 around them
  std::string words;
  for (std::size_t at = 0; at < text.size();) {
    std::size_t end = std::min(at + kBytes, text.size());
    while (end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
    words += (words.empty() ? "" : "\r\n ") + fmt::format("=?UTF-8?B?{}?=", base64(text.substr(at, end - at)));
    at = end;
  }
  return words;
}

std::string greeting(const Words& words, const ReportSettings& settings) {
  const std::string client = plain_text(settings.client, 60);
  return client.empty() ? words("mail.greeting") : words("mail.greeting_to", {{"client", client}});
}

/// What comes before the places: other limits than the built-in ones, the wearer, the first caution.
std::string cautions(const Words& words, const RulesHead& rules, Wearer wearer, const Message& wearer_reason) {
  std::string text;
  if (!rules.built_in) text += "\r\n" + words(own_rules(rules)) + "\r\n";
  if (const Message told = about_wearer(wearer, wearer_reason); !told.empty()) text += "\r\n" + words(told) + "\r\n";
  return text + "\r\n" + first_caution(words, wearer) + "\r\n";
}

std::string places(const Page& facts) {
  const Words& words = facts.words;
  const std::vector<Place> shown = places_to_show(facts);
  std::string text = shown.empty() ? "" : "\r\n" + words("client.places") + "\r\n";
  for (const Place& place : shown) {
    text += fmt::format("{}. {} ({}): {}\r\n", place.number, plain_subject(words, *place.finding),
                        verdict_word(words, place.finding->verdict), in_plain_words(facts, *place.finding));
  }
  return text;
}

/// What the picture beside the mail shows.
std::string caption(const Page& facts) {
  const std::string side = facts.words(fmt::format("side.{}", side_name(facts.fitting.foot.side)));
  return "\r\n" + facts.words("client.figure", {{"side", side}}) + " " + facts.words("client.colours") + "\r\n";
}

/// What happens next, what is attached, and the maker's name.
std::string ending(const Words& words, Tidings tidings, Wearer wearer, Attached what, const Letterhead& maker) {
  std::string text = "\r\n" + words("next.heading") + "\r\n";
  for (const std::string& step : next_steps(words, tidings, wearer)) text += "- " + step + "\r\n";
  const bool whole = what == Attached::whole_report;
  text += "\r\n" + words(whole ? "mail.attached" : "mail.attached_client") + "\r\n" + words("files.privacy") + "\r\n";
  for (const std::string* line : {&maker.sign_off, &maker.name, &maker.telephone})
    if (!line->empty()) text += "\r\n" + plain_text(*line, 200);
  return text + "\r\n";
}

std::string summary(const Page& facts, Attached what) {
  const Words& words = facts.words;
  const Tidings tidings = tidings_of(facts.fitting);
  const AssessmentSettings& judged = facts.fitting.settings.assessment;
  return greeting(words, facts.settings) + "\r\n\r\n" + words(fmt::format("headline.{}", tidings_name(tidings))) +
         "\r\n\r\n" + words(fmt::format("lead.{}", tidings_name(tidings))) + "\r\n" +
         cautions(words, facts.fitting.rules, judged.wearer, judged.wearer_reason) + places(facts) + caption(facts) +
         ending(words, tidings, judged.wearer, what, facts.settings.letterhead);
}

std::string summary(const Page& left, const Page& right, Attached what) {
  const Words& words = left.words;
  const Tidings worst = std::max(tidings_of(left.fitting), tidings_of(right.fitting));
  const AssessmentSettings &of_left = left.fitting.settings.assessment, &of_right = right.fitting.settings.assessment;
  const Wearer wearer = graver(of_left.wearer, of_right.wearer);
  std::string text = greeting(words, left.settings) + "\r\n\r\n" +
                     words(fmt::format("pair.headline.{}", tidings_name(worst))) + "\r\n" +
                     cautions(words, left.fitting.rules, wearer,
                              of_left.wearer_reason.empty() ? of_right.wearer_reason : of_left.wearer_reason);
  for (const Page* foot : {&left, &right})
    text += "\r\n" + words(fmt::format("pair.{}", side_name(foot->fitting.foot.side))) + ": " +
            words(fmt::format("headline.{}", tidings_name(tidings_of(foot->fitting)))) + "\r\n" + places(*foot) +
            caption(*foot);
  return text + ending(words, worst, wearer, what, left.settings.letterhead);
}

std::string picture_part(const Page& facts) {
  const std::string name = fmt::format("{}_foot.png", side_name(facts.fitting.foot.side));
  return fmt::format("Content-Type: image/png; name=\"{0}\"\r\nContent-Disposition: inline; filename=\"{0}\"\r\n",
                     name) +
         "Content-Transfer-Encoding: base64\r\n\r\n" + base64_lines(png(foot_from_above(facts)));
}

/// `feet` as the subject names them.
std::string mail_of(const Words& words, const ReportSettings& settings, const std::string& feet,
                    const std::string& summary, const std::vector<const Page*>& pictured, Attached what,
                    std::string_view html) {
  const std::string_view file = what == Attached::whole_report ? "report.html" : "client.html";
  // No name in the subject: it is shown on locked screens, and a scan of a foot is health data.
  std::string subject = words("page.name") + ", " + feet;
  if (!settings.date.empty()) subject += ", " + plain_text(words.date(settings.date), 30);
  // Base64 has no '=' before its end and no '_' at all: the boundary can't occur in a part.
  constexpr std::string_view kBoundary = "=_lastroom_report_=";
  std::string mail;
  if (!settings.letterhead.mail.empty()) {
    const std::string& name = settings.letterhead.name;
    mail += "From: " + (name.empty() ? "" : encoded_words(plain_text(name, 80)) + "\r\n ");
    mail += fmt::format("<{}>\r\n", settings.letterhead.mail);
  }
  mail += "Subject: " + encoded_words(subject) + "\r\n";
  mail += "MIME-Version: 1.0\r\n";
  mail += "X-Unsent: 1\r\n";  // asks mail programs to open it for writing; From, To and Date are theirs to fill in
  mail += fmt::format("Content-Type: multipart/mixed;\r\n boundary=\"{}\"\r\n\r\n", kBoundary);
  mail += fmt::format("--{}\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Language: {}\r\n", kBoundary,
                      words.language());
  mail += "Content-Transfer-Encoding: base64\r\n\r\n" + base64_lines(summary);
  for (const Page* facts : pictured) mail += fmt::format("--{}\r\n", kBoundary) + picture_part(*facts);
  mail += fmt::format("--{}\r\nContent-Type: text/html; charset=utf-8; name=\"{}\"\r\n", kBoundary, file);
  mail += fmt::format("Content-Disposition: attachment; filename=\"{}\"\r\n", file);
  mail += "Content-Transfer-Encoding: base64\r\n\r\n";
  mail += base64_lines(html) + fmt::format("--{}--\r\n", kBoundary);
  return mail;
}

Page laid_out(const Fitting& fitting, const ReportSettings& settings, const Words& words, Attached what) {
  Page all = lay_out(fitting, settings, words);
  return what == Attached::whole_report ? all : for_client(std::move(all));
}

}  // namespace

std::string mail_draft(const Fitting& fitting, const ReportSettings& settings, Attached what, std::string_view html) {
  const Words words(settings.language, settings.lengths);
  const Page page = laid_out(fitting, settings, words, what);
  return mail_of(words, settings, words(fmt::format("side.{}", side_name(fitting.foot.side))), summary(page, what),
                 {&page}, what, html);
}

std::string pair_mail_draft(const Fitting& left, const Fitting& right, const ReportSettings& settings, Attached what,
                            std::string_view html) {
  const Words words(settings.language, settings.lengths);
  const Page pages[] = {laid_out(left, settings, words, what), laid_out(right, settings, words, what)};
  return mail_of(words, settings, words("pair.both_feet"), summary(pages[0], pages[1], what), {&pages[0], &pages[1]},
                 what, html);
}

}  // namespace lastroom
