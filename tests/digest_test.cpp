#include "digest/digest.h"

#include <doctest/doctest.h>

// The page's own SHA-256, under another name, to be held against OpenSSL's.
#define lastroom lastroom_of_the_page
#include "digest/digest_browser.cpp"
#undef lastroom

using namespace lastroom;

TEST_CASE("SHA-256 of the standard's examples") {
  // FIPS 180-4, NIST's example values: "abc" in one block, 448 bits in two.
  CHECK(sha256_of(std::string("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_of(std::string("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

TEST_CASE("the page's SHA-256 is OpenSSL's, about every border of a block") {
  std::string bytes;
  for (int i = 0; i < 200; ++i) {
    CAPTURE(bytes.size());
    CHECK(lastroom_of_the_page::sha256(bytes) == sha256(bytes));
    bytes += static_cast<char>(i * 37);
  }
}

TEST_CASE("base 64 of RFC 4648, section 10") {
  CHECK(base64("") == "");
  CHECK(base64("f") == "Zg==");
  CHECK(base64("fo") == "Zm8=");
  CHECK(base64("foo") == "Zm9v");
  CHECK(base64("foob") == "Zm9vYg==");
  CHECK(base64("fooba") == "Zm9vYmE=");
  CHECK(base64("foobar") == "Zm9vYmFy");
}
