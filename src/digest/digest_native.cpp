#include "digest/digest.h"

#include <openssl/evp.h>

#include <stdexcept>

namespace lastroom {

std::string sha256(std::span<const char> bytes) {
  std::string digest(32, '\0');
  unsigned length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), reinterpret_cast<unsigned char*>(digest.data()), &length, EVP_sha256(),
                 nullptr) != 1)
    throw std::runtime_error("OpenSSL can't compute SHA-256");
  return digest;
}

}  // namespace lastroom
