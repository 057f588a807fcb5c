namespace CellWatch.Host.Api;

/// <summary>A command about an alarm. <paramref name="By"/> is the name the person types.</summary>
public sealed record AlarmCommandBody(string AlarmId, string By);

/// <summary>Puts an alarm aside.</summary>
public sealed record ShelveBody(string AlarmId, double Minutes, string Reason, string By);

/// <summary>Takes an alarm out of service, or back.</summary>
public sealed record OutOfServiceBody(string AlarmId, bool OutOfService, string Reason, string By);

/// <summary>A command that needs only a name.</summary>
public sealed record NameBody(string By);

/// <summary>A remark on the time line.</summary>
public sealed record MarkBody(string Text, string By);

/// <summary>Arms or disarms the charge permit.</summary>
public sealed record ArmBody(bool Armed, string By);

/// <summary>Settings to write into the site file, each with the value it had when it was read.</summary>
public sealed record SettingsBody(IReadOnlyList<Core.Commands.SettingChange> Changes, string By);

/// <summary>One press of the simulation strip.</summary>
public sealed record SimulationBody(string Key, string By);

/// <summary>How much the service log tells: verbose, debug, information, warning or error.</summary>
public sealed record LogLevelBody(string Level, string By);
