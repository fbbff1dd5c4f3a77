// Without the Arduino core nobody else calls setup() and loop().
#ifndef ARDUINO

void setup();
void loop();

int main() {
  setup();
  for (;;) {
    loop();
  }
}

#endif
