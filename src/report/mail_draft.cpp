#include <fmt/format.h>
#include <openssl/evp.h>

#include "report/client_parts.h"
#include "report/page.h"
#include "report/plain_words.h"
#include "report/text.h"

namespace lastroom {
namespace {

std::string base64(std::string_view bytes) {
  std::string text(4 * ((bytes.size() + 2) / 3) + 1, '\0');
  const int length =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()),
                      reinterpret_cast<const unsigned char*>(bytes.data()), static_cast<int>(bytes.size()));
  text.resize(static_cast<std::size_t>(length));
  return text;
}

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

std::string summary(const Page& facts, Attached what) {
  const Words& words = facts.words;
  const std::string_view tidings = tidings_name(tidings_of(facts.fitting));
  const std::string client = plain_text(facts.settings.client, 60);
  std::string text = client.empty() ? words("mail.greeting") : words("mail.greeting_to", {{"client", client}});
  text += "\r\n\r\n" + words(fmt::format("headline.{}", tidings)) + "\r\n\r\n" +
          words(fmt::format("lead.{}", tidings)) + "\r\n";
  if (!facts.fitting.rules.built_in) text += "\r\n" + words(own_rules(facts.fitting.rules)) + "\r\n";
  const AssessmentSettings& judged = facts.fitting.settings.assessment;
  if (const Message told = about_wearer(judged.wearer, judged.wearer_reason); !told.empty())
    text += "\r\n" + words(told) + "\r\n";
  text += "\r\n" + first_caution(words, judged.wearer) + "\r\n";
  const std::vector<Place> shown = places_to_show(facts);
  if (!shown.empty()) text += "\r\n" + words("client.places") + "\r\n";
  for (const Place& place : shown) {
    text += fmt::format("{}. {} ({}): {}\r\n", place.number, plain_subject(words, *place.finding),
                        verdict_word(words, place.finding->verdict), in_plain_words(facts, *place.finding));
  }
  text += "\r\n" + words("next.heading") + "\r\n";
  for (const std::string& step : next_steps(words, tidings_of(facts.fitting), judged.wearer))
    text += "- " + step + "\r\n";
  const bool whole = what == Attached::whole_report;
  text += "\r\n" + words(whole ? "mail.attached" : "mail.attached_client") + "\r\n" + words("files.privacy") + "\r\n";
  const Letterhead& maker = facts.settings.letterhead;
  for (const std::string* line : {&maker.sign_off, &maker.name, &maker.telephone})
    if (!line->empty()) text += "\r\n" + plain_text(*line, 200);
  return text + "\r\n";
}

}  // namespace

std::string mail_draft(const Fitting& fitting, const ReportSettings& settings, Attached what, std::string_view html) {
  const Words words(settings.language);
  const bool whole = what == Attached::whole_report;
  const Page all = lay_out(fitting, settings, words);
  const Page facts = whole ? all : for_client(all);
  const std::string_view file = whole ? "report.html" : "client.html";
  // No name in the subject: it is shown on locked screens, and a scan of a foot is health data.
  std::string subject = words("page.name") + ", " + words(fmt::format("side.{}", side_name(fitting.foot.side)));
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
  mail += "Content-Transfer-Encoding: base64\r\n\r\n" + base64_lines(summary(facts, what));
  mail += fmt::format("--{}\r\nContent-Type: text/html; charset=utf-8; name=\"{}\"\r\n", kBoundary, file);
  mail += fmt::format("Content-Disposition: attachment; filename=\"{}\"\r\n", file);
  mail += "Content-Transfer-Encoding: base64\r\n\r\n";
  mail += base64_lines(html) + fmt::format("--{}--\r\n", kBoundary);
  return mail;
}

}  // namespace lastroom
