// Reference sketch for the text-line wire of CellWatch: a board that measures modules of battery cells and prints one
// sentence a module over its serial port. Plain C++ for any Arduino-style microcontroller with 4 KB of RAM or more.
// The sentence is described byte by byte in hardware-notes/text-line-wire.md.
//
// Fill in the functions marked "YOUR BOARD". The board only ever talks; it needs no command from the host.
//
// BEFORE YOU CONNECT ANYTHING: a string of modules is at a lethal voltage. The serial lead must be isolated from the host
// (hardware-notes/usb-isolation.md) and every sense lead fused at the cell (hardware-notes/sense-leads.md).

#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <stdlib.h>

// ---- what this board is ------------------------------------------------------------------------------------------------
static const char SERIAL_NUMBER[] = "FE0412";   // 1 to 16 of A-Z a-z 0-9 - _ .   Give every board its own, for ever.
static const uint8_t MODULES = 6;               // modules on this board, numbered from 1
static const uint8_t CELLS = 6;                 // cells of each module, counted from its negative end
static const uint8_t SENSORS = 2;               // temperature sensors of each module
static const bool MEASURES_STRING = false;      // true on the one board that measures current and string voltage
static const uint32_t SCAN_MS = 500;            // a scan of all voltages every half second

// ---- YOUR BOARD: replace these with the reading of your chips ----------------------------------------------------------
// A reading a chip has not finished, or a reset code such as FFFF, is NO_DATA, never a number.
static const int32_t NO_DATA = INT32_MIN;       // printed as "-"
static const int32_t OPEN_LEAD = INT32_MIN + 1; // printed as "open": the board itself found the lead open

static int32_t cellTenthMillivolts(uint8_t module, uint8_t cell) { (void)module; (void)cell; return NO_DATA; } // 0.1 mV: 39120 is 3.9120 V
static int32_t sensorTenthDegrees(uint8_t module, uint8_t sensor) { (void)module; (void)sensor; return NO_DATA; } // 0.1 K: 215 is 21.5 degC
static int32_t stringCentiamperes() { return NO_DATA; }  // 0.01 A, positive charges the pack
static int32_t stringCentivolts() { return NO_DATA; }    // 0.01 V
static bool bleedIsOn(uint8_t module, uint8_t cell) { (void)module; (void)cell; return false; }
static int32_t boardTenthDegrees() { return NO_DATA; }
static int32_t supplyCentivolts() { return NO_DATA; }
static const int32_t BLEED_TIMEOUT_S = 60;      // after which your chips open their bleed switches by themselves; NO_DATA if they do not
static const char IS_ISOLATED = 'Y';            // 'Y', 'N', or '-' when you do not know

// ---- the sentence ------------------------------------------------------------------------------------------------------
static char sentence[340];
static size_t length;
static uint16_t sequenceNumber;                 // counts every sentence, wraps from 65535 to 0

// CRC-16/IBM-3740: polynomial 1021, start FFFF. "123456789" gives 29B1.
static uint16_t crc16(const char *bytes, size_t count) {
  uint16_t crc = 0xFFFF;
  for (size_t i = 0; i < count; i++) {
    crc ^= (uint16_t)((uint8_t)bytes[i]) << 8;
    for (uint8_t bit = 0; bit < 8; bit++) crc = (crc & 0x8000) ? (uint16_t)(crc << 1 ^ 0x1021) : (uint16_t)(crc << 1);
  }
  return crc;
}

static void put(const char *text) {
  size_t count = strlen(text);
  if (length + count > sizeof sentence - 8) return;   // room for checksum and line end stays free
  memcpy(sentence + length, text, count);
  length += count;
}

static void putNumber(uint32_t value) {
  char text[12];
  snprintf(text, sizeof text, "%lu", (unsigned long)value);
  put(text);
}

// A comma and a value of so many decimals (at most 9), without floating point: 39120 with 4 decimals is ",3.9120".
static void putValue(int32_t value, uint8_t decimals) {
  put(",");
  if (value == NO_DATA) { put("-"); return; }
  if (value == OPEN_LEAD) { put("open"); return; }
  uint32_t one = 1;
  for (uint8_t i = 0; i < decimals; i++) one *= 10;
  uint32_t size = (uint32_t)labs((long)value);
  if (value < 0) put("-");
  putNumber(size / one);
  if (decimals == 0) return;
  char text[12];
  uint8_t count = 0;
  text[count++] = '.';
  while ((one /= 10) > 0) text[count++] = (char)('0' + size / one % 10);
  text[count] = 0;
  put(text);
}

static void beginSentence(const char *kind) {
  length = 0;
  put("@1,");
  put(SERIAL_NUMBER);
  put(",");
  putNumber(sequenceNumber++);
  put(",");
  put(kind);
}

static void endSentence() {
  uint16_t crc = crc16(sentence + 1, length - 1);     // everything between @ and #
  length += (size_t)snprintf(sentence + length, sizeof sentence - length, "#%04X\r\n", (unsigned)crc);
  Serial.write((const uint8_t *)sentence, length);
}

static void sayStatus() {
  beginSentence("S");
  putValue(boardTenthDegrees(), 1);
  putValue(supplyCentivolts(), 2);
  putValue(BLEED_TIMEOUT_S, 0);
  const char tail[] = {',', IS_ISOLATED, ',', 'M', 0}; // M: measured. A board that plays back a model says S.
  put(tail);
  endSentence();
}

static void sayModule(uint8_t module, bool withSlow) {
  beginSentence("V,");
  putNumber(module);
  for (uint8_t cell = 1; cell <= CELLS; cell++) putValue(cellTenthMillivolts(module, cell), 4);
  endSentence();
  if (!withSlow) return;

  beginSentence("T,");
  putNumber(module);
  for (uint8_t sensor = 1; sensor <= SENSORS; sensor++) putValue(sensorTenthDegrees(module, sensor), 1);
  endSentence();

  beginSentence("B,");
  putNumber(module);
  put(",");
  for (uint8_t cell = 1; cell <= CELLS; cell++) put(bleedIsOn(module, cell) ? "1" : "0");
  endSentence();
}

static void sayString() {
  beginSentence("P");
  putValue(stringCentiamperes(), 2);
  putValue(stringCentivolts(), 2);
  endSentence();
}

void setup() {
  Serial.begin(115200);
  sayStatus();                                         // first of all: who and what this board is
}

void loop() {
  static uint32_t lastScan;
  static uint8_t scan;
  if (millis() - lastScan < SCAN_MS) return;
  lastScan += SCAN_MS;
  if (scan % 10 == 0) sayStatus();                     // every 5 s
  for (uint8_t module = 1; module <= MODULES; module++) sayModule(module, scan % 4 == 0);
  if (MEASURES_STRING) sayString();
  scan = scan == 39 ? 0 : scan + 1;
}
