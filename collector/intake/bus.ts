export interface BusStatus {
  connected: boolean;
  /** Since when it is, or is not [ms]; null before the first attempt has ended. */
  sinceMs: number | null;
  /** Without user and password. */
  url: string;
  /** What is wrong with the connection as it stands, for people. */
  faults: string[];
}

export interface PublishOptions {
  retain: boolean;
  qos: 0 | 1;
}

/** Where readings come from and advice goes to: a broker elsewhere, or the one built in. */
export interface Bus {
  /** Says it to whoever listens now; while there is no connection nothing is kept for later. */
  publish(topic: string, payload: string, options: PublishOptions): void;
  status(): BusStatus;
  /** Called at each change. The answer unsubscribes. */
  onStatus(listener: (status: BusStatus) => void): () => void;
  /** Says goodbye and ends. What has arrived is stored before. */
  close(): Promise<void>;
}

/** `online` while connected, else `offline`: the broker's last will says it for us. */
export function statusTopic(collector: string): string {
  return `setwell/${collector}/status`;
}
