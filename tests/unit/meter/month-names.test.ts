// Short names of months as calendars and spreadsheets print them. Source: Unicode CLDR, "abbreviated" months of each
// language (written from memory).
import { expect, test } from 'vitest';
import { monthOf } from '../../../packages/core/src/meter/table/languages.ts';

const SHORT = {
  English: 'Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec',
  German: 'Jan Feb Mär Apr Mai Jun Jul Aug Sep Okt Nov Dez',
  French: 'janv févr mars avr mai juin juil août sept oct nov déc',
  Spanish: 'ene feb mar abr may jun jul ago sept oct nov dic',
  Italian: 'gen feb mar apr mag giu lug ago set ott nov dic',
  Dutch: 'jan feb mrt apr mei jun jul aug sep okt nov dec',
  Portuguese: 'jan fev mar abr mai jun jul ago set out nov dez',
  Polish: 'sty lut mar kwi maj cze lip sie wrz paź lis gru',
  Swedish: 'jan feb mars apr maj juni juli aug sep okt nov dec',
  Danish: 'jan feb mar apr maj jun jul aug sep okt nov dec',
  Norwegian: 'jan feb mars apr mai juni juli aug sep okt nov des',
};

test.each(Object.entries(SHORT))('the short months of %s', (_, names) => {
  expect(names.split(' ').map(monthOf)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]);
});
