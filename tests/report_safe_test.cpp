// Safe by default: who is judged as at risk, what a mark's words tell, and that every page says whom to see.
#include <doctest/doctest.h>
#include <openssl/evp.h>

#include <map>

#include "report/compare.h"
#include "report/plain_words.h"
#include "report/shelf.h"
#include "report_page.h"
#include "wearers.h"
#include "words/mark_meaning.h"

using namespace lastroom;
using namespace lastroom::test;

namespace {

struct MarkCase {
  const char* risk;
  const char* mark;
};

/// What makers write, in every language of the catalogues: capitals, accents of one character and of two (as some
/// systems write file text), or none; alone and in a sentence.
const std::map<std::string, std::vector<MarkCase>> kGrave = {
    {"en",
     {{"wound", "wound"},
      {"wound", "open WOUNDS, left"},
      {"wound", "an open sore"},
      {"wound", "surgical wound, 3 weeks"},
      {"wound", "broken skin"},
      {"wound", "gangrene"},
      {"ulcer", "ulcer"},
      {"ulcer", "healed ulcer 2019"},
      {"ulcer", "Neuroischaemic ulceration"},
      {"ulcer", "old pressure-sore"},
      {"amputation", "amputation of toe 2"},
      {"amputation", "amputated"},
      {"amputation", "missing toe"},
      {"charcot", "Charcot foot"},
      {"charcot", "charcot's joint"},
      {"no_feeling", "no feeling here"},
      {"no_feeling", "Numb"},
      {"no_feeling", "can't feel"},
      {"no_feeling", "loss of sensation"},
      {"no_feeling", "peripheral neuropathy"},
      {"illness", "diabetic callus"}}},
    {"de",
     {{"wound", "Wunde"},
      {"wound", "offene WUNDEN"},
      {"wound", "Schnittwunde"},
      {"wound", "wunde Stelle"},
      {"wound", "offene Stelle am Ballen"},
      {"wound", "Gangrän"},
      {"ulcer", "Geschwür"},
      {"ulcer", "GESCHWÜR, verheilt"},
      {"ulcer", "Geschwu\u0308r"},
      {"ulcer", "Fussgeschwuer"},
      {"ulcer", "Ulkus"},
      {"ulcer", "abgeheiltes Ulcus 2019"},
      {"ulcer", "Malum perforans"},
      {"amputation", "Amputation D2"},
      {"amputation", "Vorfußamputation"},
      {"amputation", "amputierte Zehe"},
      {"charcot", "Charcot-Fuß"},
      {"charcot", "DNOAP"},
      {"no_feeling", "gefühllos"},
      {"no_feeling", "kein Gefühl"},
      {"no_feeling", "hier ohne Gefuehl"},
      {"no_feeling", "Taub"},
      {"no_feeling", "Polyneuropathie"},
      {"illness", "Diabetes"}}},
    {"fr",
     {{"wound", "plaie"},
      {"wound", "PLAIES ouvertes"},
      {"wound", "plaie opératoire, 3 semaines"},
      {"wound", "blessure au talon"},
      {"wound", "peau à vif"},
      {"wound", "lésion de l’orteil"},
      {"wound", "gangrène sèche"},
      {"wound", "Ne\u0301crose"},
      {"wound", "infecté"},
      {"wound", "abcès"},
      {"wound", "ostéite du gros orteil"},
      {"wound", "pas encore cicatrisé"},
      {"wound", "retard de cicatrisation"},
      {"wound", "ça suinte"},
      {"wound", "saignement"},
      {"ulcer", "ulcère"},
      {"ulcer", "Ulce\u0300re cicatrisé 2019"},
      {"ulcer", "ancien ULCÈRE"},
      {"ulcer", "ulcération plantaire"},
      {"ulcer", "antécédent d'ulcère"},
      {"ulcer", "mal perforant plantaire"},
      {"ulcer", "maux perforants"},
      {"ulcer", "MPP guéri"},
      {"ulcer", "escarre du talon"},
      {"amputation", "amputation du 2e orteil"},
      {"amputation", "orteil amputé"},
      {"amputation", "moignon"},
      {"amputation", "orteil manquant"},
      {"amputation", "il manque un orteil"},
      {"amputation", "absence du gros orteil"},
      {"amputation", "manque le 2e orteil"},
      {"amputation", "pas d’orteil ici"},
      {"amputation", "désarticulation"},
      {"amputation", "amputation transmétatarsienne"},
      {"amputation", "résection du 5e rayon"},
      {"charcot", "pied de Charcot"},
      {"charcot", "ostéoarthropathie"},
      {"charcot", "neuro-arthropathie"},
      {"charcot", "pied en tampon buvard"},
      {"no_feeling", "insensible"},
      {"no_feeling", "Insensibilité du bord externe"},
      {"no_feeling", "engourdi"},
      {"no_feeling", "aucune sensation"},
      {"no_feeling", "perte de sensibilité"},
      {"no_feeling", "sensibilite diminuee"},
      {"no_feeling", "ne sent rien"},
      {"no_feeling", "n'a plus de sensibilité"},
      {"no_feeling", "paresthésies"},
      {"no_feeling", "anesthésie du talon"},
      {"no_feeling", "neuropathie périphérique"},
      {"illness", "pied diabétique"},
      {"illness", "Diabète"},
      {"illness", "artérite"},
      {"illness", "AOMI"},
      {"illness", "mauvaise circulation"},
      {"illness", "insuffisance rénale"},
      {"illness", "dialysé"},
      {"illness", "hémodialyse"}}},
    {"it",
     {{"wound", "ferita"},
      {"wound", "FERITE aperte"},
      {"wound", "ferita chirurgica, 3 settimane"},
      {"wound", "lesione cutanea"},
      {"wound", "pelle aperta"},
      {"wound", "carne viva"},
      {"wound", "gangrena"},
      {"wound", "cancrena"},
      {"wound", "necrosi"},
      {"wound", "infezione"},
      {"wound", "dito infetto"},
      {"wound", "ascesso"},
      {"wound", "osteomielite"},
      {"wound", "non rimarginata"},
      {"wound", "non ancora guarita"},
      {"ulcer", "ulcera"},
      {"ulcer", "ulcera guarita 2019"},
      {"ulcer", "vecchie ULCERE"},
      {"ulcer", "pregressa ulcerazione"},
      {"ulcer", "un'ulcera"},
      {"ulcer", "piaga"},
      {"ulcer", "piaghe da decubito"},
      {"ulcer", "mal perforante plantare"},
      {"ulcer", "escara sul tallone"},
      {"amputation", "amputazione 2° dito"},
      {"amputation", "dito amputato"},
      {"amputation", "moncone"},
      {"amputation", "dito mancante"},
      {"amputation", "manca il mignolo"},
      {"amputation", "manca il secondo dito"},
      {"amputation", "manca l’alluce"},
      {"amputation", "senza dita"},
      {"amputation", "disarticolazione"},
      {"amputation", "resezione del V raggio"},
      {"charcot", "piede di Charcot"},
      {"charcot", "osteoartropatia"},
      {"charcot", "neuro-artropatia"},
      {"charcot", "piede a dondolo"},
      {"no_feeling", "insensibile"},
      {"no_feeling", "Insensibilità"},
      {"no_feeling", "Insensibilita\u0300"},
      {"no_feeling", "intorpidito"},
      {"no_feeling", "senza sensibilità"},
      {"no_feeling", "sensibilita' ridotta"},
      {"no_feeling", "perdita di sensibilità"},
      {"no_feeling", "qui non sente niente"},
      {"no_feeling", "parestesie"},
      {"no_feeling", "neuropatia periferica"},
      {"no_feeling", "polineuropatia"},
      {"illness", "piede diabetico"},
      {"illness", "Diabete"},
      {"illness", "arteriopatia"},
      {"illness", "ischemia"},
      {"illness", "cattiva circolazione"},
      {"illness", "insufficienza renale"},
      {"illness", "dializzato"}}},
};

/// Of a foot that is not at risk for it.
const std::vector<const char*> kHarmless = {"",
                                            "bunion",
                                            "nail",
                                            "corn",
                                            "hammer toe",
                                            "spot number 3",
                                            "callus",
                                            "hard skin",
                                            "round scar",
                                            "tender",
                                            "bony ridge",
                                            "stumbled",
                                            "plantar wart",
                                            "Hühnerauge",
                                            "Ballen",
                                            "Hallux valgus",
                                            "Schwiele",
                                            "Hammerzehe",
                                            "Druckstelle",
                                            "Nagel",
                                            "Überbein",
                                            "Wunder",
                                            "Knochenvorsprung",
                                            "\xC3",
                                            "\xFF\xFE ..",
                                            "exostosis",
                                            "rund",
                                            "Haut trocken",
                                            "cor",
                                            "œil-de-perdrix",
                                            "oignon",
                                            "durillon",
                                            "callosité",
                                            "corne",
                                            "orteil en marteau",
                                            "orteil en griffe",
                                            "ongle incarné",
                                            "verrue plantaire",
                                            "cicatrice ronde",
                                            "peau sèche",
                                            "zone sensible",
                                            "sensibilité au toucher",
                                            "point douloureux",
                                            "point de pression",
                                            "saillie osseuse",
                                            "bosse",
                                            "exostose",
                                            "kyste",
                                            "épine calcanéenne",
                                            "névrome de Morton",
                                            "gros orteil large",
                                            "orteil long",
                                            "plus de place",
                                            "pas de gêne",
                                            "sans semelle",
                                            "escarpin",
                                            "mycose",
                                            "varices",
                                            "callo",
                                            "occhio di pernice",
                                            "alluce valgo",
                                            "cipolla",
                                            "durone",
                                            "dito a martello",
                                            "dito lungo",
                                            "unghia incarnita",
                                            "verruca",
                                            "cicatrice rotonda",
                                            "pelle secca",
                                            "zona sensibile",
                                            "punto dolente",
                                            "punto di pressione",
                                            "sporgenza ossea",
                                            "esostosi",
                                            "cisti",
                                            "spina calcaneare",
                                            "neuroma",
                                            "micosi",
                                            "osso sporgente",
                                            "più spazio",
                                            "senza plantare",
                                            "taglia",
                                            "pieghe",
                                            "cor, plus le petit orteil",
                                            "più sensibilità qui"};

std::string decoded(std::string base64) {
  std::erase_if(base64, [](char c) { return c == '\r' || c == '\n'; });
  std::string bytes(base64.size(), '\0');
  EVP_DecodeBlock(reinterpret_cast<unsigned char*>(bytes.data()), reinterpret_cast<const unsigned char*>(base64.data()),
                  static_cast<int>(base64.size()));
  return bytes;
}

/// The text of a mail draft, without what is attached.
std::string text_of_mail(const std::string& mail) {
  const std::size_t body = mail.find("\r\n\r\n", mail.find("Content-Type: text/plain")) + 4;
  return decoded(mail.substr(body, mail.find("\r\n--", body) - body));
}

FittedResult as_written(const Fitting& fitting) {
  return {"one", result_json(fitting), parse_clearance_ply(clearance_ply(fitting), "one")};
}

/// A page of every kind about this fitting, by its name.
std::map<std::string, std::string> all_pages(const Fitting& fitting, const std::string& language) {
  const ReportSettings settings{"", "", language};
  Fitting left = sample_fitting(Side::left);
  left.settings.assessment.wearer = Wearer::standard;
  ShelfHead head;
  head.wearer = fitting.settings.assessment.wearer;
  head.wearer_reason = fitting.settings.assessment.wearer_reason;
  const std::string report = report_html(fitting, settings);
  return {{"report", report},
          {"referral", referral_html(fitting, settings)},
          {"client, both feet", pair_client_html(left, fitting, settings)},
          {"mail, both feet", text_of_mail(pair_mail_draft(left, fitting, settings, Attached::client_page, report))},
          {"client", client_html(fitting, settings)},
          {"pair", pair_report_html(left, fitting, settings)},
          {"shelf", shelf_html({}, head, settings, [](const ShelfRow&) { return std::string(); })},
          {"compare", compare_html(compare(as_written(left), as_written(fitting)), settings)},
          {"mail", text_of_mail(mail_draft(fitting, settings, Attached::whole_report, report))}};
}

bool has(const std::string& text, const std::string& piece) { return text.find(piece) != std::string::npos; }

}  // namespace

TEST_CASE("words for a wound, an ulcer, an amputation, a Charcot foot or lost feeling are known in every catalogue") {
  for (const std::string& language : report_languages()) {
    CAPTURE(language);
    REQUIRE(kGrave.contains(language));
    for (const MarkCase& one : kGrave.at(language)) {
      CAPTURE(one.mark);
      CHECK(risk_in_mark(one.mark) == one.risk);
    }
  }
  for (const char* mark : kHarmless) {
    CAPTURE(mark);
    CHECK(risk_in_mark(mark).empty());
  }
}

TEST_CASE("nobody asked is unknown, in every struct that a page is made from") {
  CHECK(AssessmentSettings{}.wearer == Wearer::unknown);
  CHECK(FittingSettings{}.assessment.wearer == Wearer::unknown);
  CHECK(ShelfHead{}.wearer == Wearer::unknown);
  CHECK(Comparison::One{}.wearer == Wearer::unknown);
}

TEST_CASE("a grave mark makes the wearer one at risk, whatever was said; another leaves what was said") {
  for (const Wearer said : {Wearer::standard, Wearer::at_risk, Wearer::unknown}) {
    const AssessmentSettings grave = in_force(told(said), {{Vec3::Zero(), "bunion"}, {Vec3::Zero(), "healed ulcer"}});
    CHECK(grave.wearer == Wearer::at_risk);
    CHECK(grave.wearer_reason.empty() == (said == Wearer::at_risk));
    CHECK(in_force(told(said), {{Vec3::Zero(), "bunion"}}).wearer == said);
  }
}

TEST_CASE("every page of every kind says whom to see, and by which limits an unasked wearer was judged") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk}) {
      Fitting fitting = sample_fitting();
      fitting.settings.assessment.wearer = wearer;
      for (const auto& [kind, page] : all_pages(fitting, language)) {
        CAPTURE(language);
        CAPTURE(kind);
        CHECK(has(page, words("caution.referral")));
        CHECK(has(page, words("wearer.unknown")) == (wearer == Wearer::unknown));
        CHECK(has(page, words("wearer.at_risk")) == (wearer == Wearer::at_risk));
        CHECK(has(page, words("caution.first_at_risk")) == (wearer != Wearer::standard));
      }
    }
  }
}

TEST_CASE("for who is or may be at risk the professional is the first of what happens next") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (int t = 0; t <= static_cast<int>(Tidings::none); ++t) {
      const auto tidings = static_cast<Tidings>(t);
      CHECK(next_steps(words, tidings, Wearer::at_risk).front() == words("next.at_risk"));
      CHECK(next_steps(words, tidings, Wearer::unknown).front() == words("next.unknown"));
      CHECK(next_steps(words, tidings, Wearer::standard).size() + 1 ==
            next_steps(words, tidings, Wearer::at_risk).size());
    }
    Fitting fitting = sample_fitting();
    fitting.settings.assessment.wearer = Wearer::at_risk;
    const std::map<std::string, std::string> pages = all_pages(fitting, language);
    for (const char* kind : {"report", "pair", "mail"}) {
      const std::string& page = pages.at(kind);
      const std::size_t first = page.find(words("next.at_risk")), next = page.find(words("next.pinch.1"));
      CHECK(first != std::string::npos);
      CHECK(first < next);
    }
  }
}

TEST_CASE("a wearer who is at risk by a mark is told so, with the mark's own words") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    Fitting fitting = sample_fitting();
    fitting.settings.assessment = in_force(fitting.settings.assessment, {{Vec3::Zero(), "Ulkus <b>"}});
    const Message& reason = fitting.settings.assessment.wearer_reason;
    CHECK(has(words(reason), words("mark.ulcer")));
    for (const auto& [kind, page] : all_pages(fitting, language)) {
      CAPTURE(kind);
      if (kind == "compare") continue;  // it reads results, which tell that the wearer is at risk and not why
      CHECK(has(page, kind.starts_with("mail") ? "Ulkus <b>" : "Ulkus &lt;b&gt;"));
      CHECK(has(page, words("mark.ulcer")));
    }
  }
}

TEST_CASE("no change of the last is proposed over a marked spot of a wearer at risk, and the page says so") {
  for (const std::string& language : report_languages()) {
    const Words words(language);
    for (const Wearer wearer : {Wearer::standard, Wearer::unknown, Wearer::at_risk}) {
      Fitting fitting = sample_fitting();
      fitting.settings.assessment.wearer = wearer;
      const auto told_so = [&] {
        return has(report_html(fitting, {"", "", language}), words("corrections.not_over_marks"));
      };
      CHECK_FALSE(told_so());
      fitting.foot.landmarks.never_press = {{Vec3::Zero(), "corn"}};
      CHECK(told_so() == (wearer != Wearer::standard));
    }
  }
}

TEST_CASE("a day is told as the language writes it, and what is no day as it stands") {
  const Words english("en"), german("de");
  CHECK(english.date("2026-03-01") == "1 March 2026");
  CHECK(german.date("2026-03-01") == "1. März 2026");  // DIN 5008: day, full stop, month in words
  CHECK(english.date("2026-12-31") == "31 December 2026");
  for (const char* other : {"", "2026-13-01", "2026-00-10", "2026-3-1", "2026-03-xx", "yesterday .", "2026-03-01 "})
    CHECK(english.date(other) == other);
}
