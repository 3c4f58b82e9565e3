import * as oidc from 'openid-client';
import { newToken, digestOf } from './secrets.ts';

export interface SignOnSetting {
  /** What people call it. */
  name: string;
  issuer: string;
  clientId: string;
  /** Null: a public client, held by PKCE alone. */
  secret: string | null;
}

/** What this browser was sent away with, to be held against what it brings back. */
interface Away {
  verifier: string;
  state: string;
  nonce: string;
  back: string;
  untilMs: number;
}

/** Whoever needs longer at the service begins anew [ms]. */
export const awayForMs = 10 * 60_000;
/** Browsers that are away at once; the oldest go. */
const awayAtMost = 1_000;
/** A service that does not answer must not hold a page [s]. */
const answerWithinS = 10;

/**
 * The plant's own sign-in service, by OpenID Connect: authorization code with PKCE (RFC 7636), state and
 * nonce. It says who somebody is, and nothing of what he may do here.
 */
export class SignOn {
  readonly #setting: SignOnSetting;
  readonly #nowMs: () => number;
  readonly #away = new Map<string, Away>();
  #service: Promise<oidc.Configuration> | null = null;

  constructor(setting: SignOnSetting, nowMs: () => number) {
    this.#setting = setting;
    this.#nowMs = nowMs;
  }

  get name(): string {
    return this.#setting.name;
  }

  /** Who somebody is there, so that no other service's people are taken for his. */
  subjectOf(sub: string): string {
    return digestOf(`${this.#setting.issuer} ${sub}`);
  }

  /**
   * Where the browser goes, and the secret it keeps meanwhile.
   *
   * @param back where the service sends it back to
   * @throws Error where the service does not answer
   */
  async begin(back: string): Promise<{ to: string; token: string }> {
    const service = await this.#known();
    const verifier = oidc.randomPKCECodeVerifier();
    const away: Away = {
      ...{ verifier, back, state: oidc.randomState(), nonce: oidc.randomNonce() },
      untilMs: this.#nowMs() + awayForMs,
    };
    const { token, digest } = newToken();
    this.#away.set(digest, away);
    const [oldest] = this.#away.keys();
    if (this.#away.size > awayAtMost && oldest !== undefined) this.#away.delete(oldest);
    const to = oidc.buildAuthorizationUrl(service, {
      redirect_uri: back,
      scope: 'openid',
      code_challenge: await oidc.calculatePKCECodeChallenge(verifier),
      code_challenge_method: 'S256',
      state: away.state,
      nonce: away.nonce,
    });
    return { to: to.href, token };
  }

  /**
   * Who came back, as `subjectOf` says it; null where it does not hold together. A browser comes back once.
   *
   * @param token the secret this browser kept
   * @param query what the service has sent it back with
   */
  async back(token: string, query: string): Promise<string | null> {
    const digest = digestOf(token);
    const away = this.#away.get(digest);
    this.#away.delete(digest);
    if (away === undefined || away.untilMs <= this.#nowMs()) return null;
    try {
      const tokens = await oidc.authorizationCodeGrant(
        await this.#known(),
        new URL(`${away.back}?${query}`),
        {
          pkceCodeVerifier: away.verifier,
          expectedState: away.state,
          expectedNonce: away.nonce,
          idTokenExpected: true,
        },
      );
      const sub = tokens.claims()?.sub;
      return sub === undefined ? null : this.subjectOf(sub);
    } catch {
      // A lie and a service that fails look alike from here; neither lets anybody in.
      return null;
    }
  }

  #known(): Promise<oidc.Configuration> {
    this.#service ??= this.#discovered().catch((error: unknown) => {
      this.#service = null;
      throw error;
    });
    return this.#service;
  }

  #discovered(): Promise<oidc.Configuration> {
    const { issuer, clientId, secret } = this.#setting;
    const url = new URL(issuer);
    // On this very machine nobody is on the wire; anywhere else the service answers by TLS or not at all.
    const isHere = url.hostname === '127.0.0.1' || url.hostname === 'localhost';
    return oidc.discovery(url, clientId, undefined, clientAuth(secret), {
      timeout: answerWithinS,
      // Signatures are checked even where the token came by TLS from the service itself.
      execute: [oidc.enableNonRepudiationChecks, ...(isHere ? [oidc.allowInsecureRequests] : [])],
    });
  }
}

function clientAuth(secret: string | null): oidc.ClientAuth {
  return secret === null ? oidc.None() : oidc.ClientSecretBasic(secret);
}
