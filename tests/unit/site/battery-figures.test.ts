import { expect, test } from 'vitest';
import { batteryQuestions } from '../../../packages/core/src/site/unusual-battery.ts';

// A figure in Wh or W is asked about with its thousandth where that is one of a home's unit: 0.8 to 30 kWh, 0.5 to 20 kW.
const asked = (battery: object) => {
  const plant = { battery: { units: 1, usableKwh: 10, chargeKw: 5, dischargeKw: 5, ...battery } };
  return batteryQuestions(plant as never).map(({ data }) => {
    const { field, inThousandths } = data as { readonly field: string; readonly inThousandths: boolean };
    return [field, inThousandths];
  });
};

test.each([
  [{ usableKwh: 60 }, []],
  [{ usableKwh: 60.1 }, [['battery.usableKwh', false]]],
  [{ usableKwh: 799 }, [['battery.usableKwh', false]]],
  [{ usableKwh: 800 }, [['battery.usableKwh', true]]],
  [{ usableKwh: 30_000 }, [['battery.usableKwh', true]]],
  [{ usableKwh: 30_001 }, [['battery.usableKwh', false]]],
  [{ usableKwh: 60, chargeKw: 50 }, []],
  [{ usableKwh: 60, chargeKw: 51 }, [['battery.chargeKw', false]]],
  [{ usableKwh: 60, dischargeKw: 500 }, [['battery.dischargeKw', true]]],
  [{ usableKwh: 60, dischargeKw: 20_000 }, [['battery.dischargeKw', true]]],
  [{ usableKwh: 60, dischargeKw: 20_001 }, [['battery.dischargeKw', false]]],
])('%j', (battery, questions) => expect(asked(battery)).toEqual(questions));
