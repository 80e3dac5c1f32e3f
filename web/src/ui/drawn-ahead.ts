/**
 * Whether the first screen is being drawn for the page to come with. Nobody listens to it until the scripts
 * are there: what cannot be taken over then must not look as if it could be used.
 */
export const drawnAhead: boolean = import.meta.env.SSR;
