using System.Net;

namespace CellWatch.Mqtt;

/// <summary>How the embedded broker listens.</summary>
public sealed record EmbeddedBrokerOptions
{
    /// <summary>Address to listen on. Beyond this machine (not loopback) a user name and a password are required.</summary>
    public IPAddress Address { get; init; } = IPAddress.Loopback;

    /// <summary>Port, 1 to 65535; 0 chooses a free one. 1883 is the one registered for MQTT with IANA (from memory).</summary>
    public int Port { get; init; } = 1883;

    /// <summary>File that keeps retained messages over a restart; null keeps them in memory only.</summary>
    public string? RetainedPath { get; init; }

    /// <summary>User name that readers must give; null lets anyone on this machine read.</summary>
    public string? User { get; init; }

    /// <summary>Password that goes with <see cref="User"/>.</summary>
    public string? Password { get; init; }

    /// <summary>What is wrong with these settings, each with what to do; empty when nothing is.</summary>
    public IEnumerable<string> Problems()
    {
        if (Port is < 0 or > 65535)
            yield return $"The embedded broker's port is {Port}: use 1 to 65535, or 0 for any free one.";
        if (string.IsNullOrEmpty(User) != string.IsNullOrEmpty(Password))
            yield return "The embedded broker needs a user name and a password, or neither.";
        if (!IPAddress.IsLoopback(Address) && string.IsNullOrEmpty(User))
            yield return $"The embedded broker would be open to the network on {Address}: set a user name and a password, or listen on 127.0.0.1.";
    }
}

/// <summary>The embedded broker could not start; the message is a sentence for a person.</summary>
public sealed class BrokerStartException : Exception
{
    /// <summary>With the sentence.</summary>
    public BrokerStartException(string message, Exception? inner = null) : base(message, inner)
    {
    }
}
