// @ts-check
// Fetches the map's data, and says in words what stands in the way.

import { mapOf } from "./map_data.js";

/**
 * What an answer without data means for the person who waits.
 * @param {{redirected: boolean, status: number}} response
 * @returns {string}
 */
export function refusalWords({ redirected, status }) {
  if (redirected) return "Your login has ended: load the page again to log in.";
  if (status === 403) return "Your role may not see this map.";
  if (status === 404) return "This record is no longer there.";
  return `The map's data did not come (answer ${status}). Load the page again.`;
}

/**
 * @param {string} url
 * @param {HTMLElement} status
 * @returns {Promise<ReturnType<typeof mapOf> | null>} null: nothing came
 */
export async function loadMap(url, status) {
  status.textContent = "The map is being loaded.";
  try {
    const response = await fetch(url, { headers: { Accept: "application/json" } });
    if (response.redirected || !response.ok) {
      status.textContent = refusalWords(response);
      return null;
    }
    return mapOf(await response.json());
  } catch (error) {
    console.info("The map could not be loaded.", error);
    status.textContent = "The map could not be loaded: no network. The tables on this page hold the same records.";
    return null;
  }
}
