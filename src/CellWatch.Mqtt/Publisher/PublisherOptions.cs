namespace CellWatch.Mqtt;

/// <summary>Which broker is used and how often is published. With an embedded broker host, port, user and TLS are not used.</summary>
public sealed record PublisherOptions
{
    /// <summary>Host of an external broker.</summary>
    public string Host { get; init; } = "127.0.0.1";

    /// <summary>Its port, 1 to 65535: commonly 1883, with TLS 8883.</summary>
    public int Port { get; init; } = 1883;

    /// <summary>User name; null where none is asked.</summary>
    public string? User { get; init; }

    /// <summary>Password.</summary>
    public string? Password { get; init; }

    /// <summary>Whether the connection is encrypted; the broker's certificate must then be valid for <see cref="Host"/>.</summary>
    public bool Tls { get; init; }

    /// <summary>PEM file with the authority that signed the broker's certificate, for a broker with a certificate of one's own; null uses the system's authorities.</summary>
    public string? TrustedCertificatePath { get; init; }

    /// <summary>Client id; null takes <c>cellwatch-</c> and the topics' root. Two programs with the same id throw each other out.</summary>
    public string? ClientId { get; init; }

    /// <summary>Time between snapshots, 0.1 to 60 s; sets how long a live value may be kept.</summary>
    public TimeSpan SnapshotPeriod { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>Whether the pack is simulated, for what is said before the first snapshot (presence, will); null where that is not known then.</summary>
    public bool? Simulated { get; init; }

    /// <summary>Least time between two publications of live values; zero publishes with every snapshot. Alarms never wait.</summary>
    public TimeSpan LeastPeriod { get; init; } = TimeSpan.Zero;

    /// <summary>Pause after the first failure to connect; doubles up to <see cref="LongestPause"/>.</summary>
    public TimeSpan FirstPause { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>Longest pause between attempts.</summary>
    public TimeSpan LongestPause { get; init; } = TimeSpan.FromSeconds(60);

    /// <summary>Silence after which the broker takes the program for lost is 1.5 times this (MQTT 5.0, 3.1.2.10).</summary>
    public TimeSpan KeepAlive { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>Longest wait for an answer of the broker.</summary>
    public TimeSpan AnswerTimeout { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>
    /// How long a broker keeps a live value: three snapshots, at least 15 s (a reader that is late by a hiccup still gets it; nobody
    /// gets an old one).
    /// </summary>
    public TimeSpan LiveExpiry => TimeSpan.FromSeconds(Math.Max(15, Math.Ceiling(3 * LivePeriod.TotalSeconds)));

    /// <summary>How long a permit holds without a new one: three snapshots, at least 2 s. It is a dead-man, so it is shorter than a live value.</summary>
    public TimeSpan PermitValidFor => TimeSpan.FromSeconds(Math.Max(2, Math.Ceiling(3 * SnapshotPeriod.TotalSeconds)));

    private TimeSpan LivePeriod => SnapshotPeriod > LeastPeriod ? SnapshotPeriod : LeastPeriod;

    /// <summary>What is wrong with these settings, each with what to do; empty when nothing is.</summary>
    public IEnumerable<string> Problems()
    {
        if (string.IsNullOrWhiteSpace(Host)) yield return "The external broker has no host: give its name or address.";
        if (Port is < 1 or > 65535) yield return $"The external broker's port is {Port}: use 1 to 65535.";
        if (string.IsNullOrEmpty(User) && !string.IsNullOrEmpty(Password)) yield return "The external broker has a password without a user name: give both.";
        if (TrustedCertificatePath is { } path && !File.Exists(path)) yield return $"The certificate file {path} does not exist.";
        if (SnapshotPeriod < TimeSpan.FromSeconds(0.1) || SnapshotPeriod > TimeSpan.FromSeconds(60))
            yield return $"The time between snapshots is {SnapshotPeriod.TotalSeconds} s: use 0.1 to 60 s.";
        if (LeastPeriod < TimeSpan.Zero || LeastPeriod > TimeSpan.FromHours(1))
            yield return $"The least time between live messages is {LeastPeriod.TotalSeconds} s: use 0 to 3600 s.";
        if (FirstPause <= TimeSpan.Zero || LongestPause < FirstPause)
            yield return "The first pause between attempts must be above zero and not longer than the longest.";
    }
}
