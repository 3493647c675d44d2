/** What start-up hands over to. */
#pragma once

void main(void);
