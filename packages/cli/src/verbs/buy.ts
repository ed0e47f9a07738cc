import { renderBuy } from '@stonehand/report';
import { planFor } from '../plan-for.ts';
import type { Verb } from '../program.ts';

type BuyOptions = Readonly<{ from?: string; to?: string }>;

export const buy: Verb<BuyOptions> = async (names, options, context) => {
  const { plan } = await planFor(names[0], options, context);
  context.print(
    options.json === true
      ? JSON.stringify({ buy: plan.buy, buyAll: plan.buyAll, hardware: plan.hardware })
      : renderBuy(plan, { width: context.width, colour: context.colour }),
  );
  return 0;
};
