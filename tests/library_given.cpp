#include "library_given.h"

#include "demo/scenario.h"

namespace library_test {

const Demo& fifth_toe_pressed() {
  static const Demo demo = [] {
    Demo made;
    for (const lastroom::DemoPair& pair : lastroom::demo_pairs()) {
      if (pair.name != "fifth_toe_pressed") continue;
      made.scan_name = pair.scan_file;
      made.last_name = pair.last_file;
      for (lastroom::DemoFile& file : lastroom::demo_files(pair))
        (file.name == pair.scan_file ? made.scan : made.last) = std::move(file.bytes);
    }
    return made;
  }();
  return demo;
}

}  // namespace library_test
