// The page's door to the core: a request as JSON, and the two mesh files, go in; named files come out.
#include <emscripten.h>

#include <array>
#include <map>
#include <new>

#include "check_bytes.h"
#include "demo/scenario.h"
#include "error.h"
#include "mesh_io/mesh_bytes.h"
#include "page/shown.h"
#include "page/view_bytes.h"
#include "report/found_body.h"

// A stage begins: told to whoever runs the core.
EM_JS(void, tell_stage, (int stage), { globalThis.tellStage&& globalThis.tellStage(stage); });
EM_JS(void, tell_mistake, (const char* what), { console.error(UTF8ToString(what)); });

namespace lastroom {
namespace {

using Json = nlohmann::ordered_json;

enum Slot { request, scan, last };
std::array<std::string, 3> given;
NamedFiles answer;
std::optional<Fitting> checked;  ///< the last check, to be written again in another language

template <class Value>
std::optional<Value> chosen(const Json& asked, const char* key,
                            std::initializer_list<std::pair<std::string_view, Value>> values) {
  const std::string word = asked.value(key, "");
  for (const auto& [name, value] : values)
    if (name == word) return value;
  return std::nullopt;
}

std::optional<LengthUnit> unit_in(const Json& asked, const char* key) {
  return chosen<LengthUnit>(asked, key,
                            {{"mm", LengthUnit::millimetre},
                             {"cm", LengthUnit::centimetre},
                             {"m", LengthUnit::metre},
                             {"in", LengthUnit::inch}});
}

/// As `settings_from` of the command line has them.
FittingSettings settings_in(const Json& asked) {
  FittingSettings settings;
  settings.foot.side = chosen<Side>(asked, "side", {{"left", Side::left}, {"right", Side::right}});
  settings.foot.units = unit_in(asked, "scan_unit");
  settings.last.units = unit_in(asked, "last_unit");
  settings.registration.sock_mm = asked.value("sock_mm", 0.0);
  settings.assessment.scan_load =
      chosen<ScanLoad>(asked, "scan_load", {{"half", ScanLoad::half}, {"none", ScanLoad::none}})
          .value_or(ScanLoad::full);
  settings.registration.scan_error_mm = scan_error_mm(settings.assessment.scan_load);
  settings.assessment.wearer =
      chosen<Wearer>(asked, "wearer", {{"standard", Wearer::standard}, {"at-risk", Wearer::at_risk}})
          .value_or(Wearer::unknown);
  if (const double tape_mm = asked.value("tape_joint_mm", 0.0); tape_mm > 0.0)
    settings.assessment.tape_joint_mm = tape_mm;
  settings.day = true;
  return settings;
}

ReportSettings pages_in(const Json& asked) {
  return {asked.value("client", ""), asked.value("date", ""), asked.value("language", "en")};
}

void put_json(const char* name, const Json& json) {
  answer.emplace_back(name, json.dump(-1, ' ', false, Json::error_handler_t::replace));
}

void put_refusal(const Message& why, const ReportSettings& pages) {
  put_json("shown.json", {{"refused", Words(pages.language)(why)}});
}

void words_of(const Json& asked) {
  const Words words(asked.value("language", "en"));
  Json texts = Json::object();
  for (const std::string_view key : words.keys()) texts[std::string(key)] = words(key);
  put_json("words.json", {{"languages", report_languages()}, {"version", tool_version()}, {"texts", texts}});
}

template <class Ready>
void show_read(const std::variant<Ready, Refused>& read, const ReportSettings& pages) {
  if (const auto* refused = std::get_if<Refused>(&read)) {
    put_refusal(refused->why, pages);
    answer.emplace_back("refusal.html", refusal_html(*refused, pages));
    return;
  }
  const Words words(pages.language);
  const Ready& ready = std::get<Ready>(read);
  if constexpr (std::is_same_v<Ready, ReadyFoot>) {
    put_json("shown.json", shown_foot(ready, words));
    answer.emplace_back("view.bin", view_of_body(found_on(ready.foot, ready.measures, words).mesh));
  } else {
    put_json("shown.json", shown_last(ready, words));
    answer.emplace_back("view.bin", view_of_body(found_on(ready.last, ready.measures, words).mesh));
  }
  answer.emplace_back("measures.html", measure_html(ready, pages));
}

void read_body(const Json& asked) {
  const FittingSettings settings = settings_in(asked);
  const ReportSettings pages = pages_in(asked);
  try {
    if (asked.value("as", "") == "last")
      show_read(given_last(mesh_in(asked.value("last_name", ""), given[last]), settings), pages);
    else
      show_read(given_foot(mesh_in(asked.value("scan_name", ""), given[scan]), settings), pages);
  } catch (const InputError& error) {
    put_refusal(error.message, pages);
  }
}

void put_check(const ReportSettings& pages) {
  put_json("shown.json", shown_check(*checked, pages));
  answer.emplace_back("view.bin", view_of_fitting(*checked));
}

void check(const Json& asked) {
  const ReportSettings pages = pages_in(asked);
  CheckedBytes done =
      check_bytes({asked.value("scan_name", ""), given[scan]}, {asked.value("last_name", ""), given[last]},
                  default_rules(), settings_in(asked), pages, [](Stage stage) { tell_stage(static_cast<int>(stage)); });
  answer = std::move(done.files);
  checked = std::move(done.fitting);
  checked ? put_check(pages) : put_refusal(done.refused, pages);
}

void write_again(const Json& asked) {
  if (!checked) return;
  const ReportSettings pages = pages_in(asked);
  answer = files_of(*checked, pages);
  put_check(pages);
}

/// An invented scan and a last that presses its fifth toe.
void demo(const Json&) {
  for (const DemoPair& pair : demo_pairs())
    if (pair.name == "fifth_toe_pressed")
      for (DemoFile& file : demo_files(pair)) answer.emplace_back(file.name, std::move(file.bytes));
}

void answer_to(const Json& asked) {
  static const std::map<std::string, void (*)(const Json&)> kAnswers = {
      {"words", words_of}, {"read", read_body}, {"check", check}, {"write", write_again}, {"demo", demo}};
  kAnswers.at(asked.value("do", ""))(asked);
}

}  // namespace
}  // namespace lastroom

using namespace lastroom;

extern "C" {

/// Room for `size` bytes of what is given: 0 the request, 1 the scan, 2 the last.
EMSCRIPTEN_KEEPALIVE char* door_room(int slot, std::size_t size) {
  std::string& place = given.at(static_cast<std::size_t>(slot));
  std::string().swap(place);
  place.resize(size);
  return place.data();
}

/// Answers the request; how many files there are. Less than 0: no memory (-1), a mistake of ours (-2).
EMSCRIPTEN_KEEPALIVE int door_answer() {
  answer.clear();
  try {
    answer_to(Json::parse(given[request]));
    return static_cast<int>(answer.size());
  } catch (const std::bad_alloc&) {
    return -1;
  } catch (const std::exception& error) {
    tell_mistake(error.what());
    return -2;
  }
}

EMSCRIPTEN_KEEPALIVE const char* door_name(int file) { return answer.at(static_cast<std::size_t>(file)).first.c_str(); }
EMSCRIPTEN_KEEPALIVE const char* door_bytes(int file) {
  return answer.at(static_cast<std::size_t>(file)).second.data();
}
EMSCRIPTEN_KEEPALIVE std::size_t door_size(int file) { return answer.at(static_cast<std::size_t>(file)).second.size(); }
}
