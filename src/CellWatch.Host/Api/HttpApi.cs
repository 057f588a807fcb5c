using System.Text.Json;
using System.Text.Json.Serialization;
using CellWatch.Core.Commands;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.Core.Settings;
using CellWatch.Core.Wording;
using CellWatch.Host.Logging;
using Microsoft.AspNetCore.Http.HttpResults;

namespace CellWatch.Host.Api;

/// <summary>The HTTP door: what is, and the commands. Described by the OpenAPI document at <c>/openapi/v1.json</c>.</summary>
public static partial class HttpApi
{
    /// <summary>Adds what every door needs: problem details (RFC 9457), the OpenAPI document, names of states as words.</summary>
    public static void AddHttpApi(this IServiceCollection services)
    {
        services.AddProblemDetails();
        services.AddOpenApi();
        services.ConfigureHttpJsonOptions(SetUpJson);
    }

    /// <summary>How answers are written: words in camel case, and NaN by its name. Asked for twice it is done once.</summary>
    internal static void SetUpJson(Microsoft.AspNetCore.Http.Json.JsonOptions json)
    {
        json.SerializerOptions.NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals;
        var converters = json.SerializerOptions.Converters;
        if (!converters.Any(c => c is JsonStringEnumConverter)) converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase));
    }

    /// <summary>Maps the endpoints.</summary>
    public static void MapHttpApi(this IEndpointRouteBuilder app)
    {
        app.MapOpenApi();
        app.MapGet("/state", State).WithName("state").WithSummary("The whole present state")
            .WithDescription("Every cell with its quality, origin and proof; figures over the pack; alarms; front ends. A value that is not good is null.");
        app.MapGet("/state/alarms", Alarms).WithName("alarms").WithSummary("Alarms that are not normal, the most urgent first");
        app.MapGet("/state/settings", (ISettingsDesk desk) => desk.Read()).WithName("settings").WithSummary("The settings: what the site file says, what runs now, what may be typed");
        app.MapGet("/state/inputs", (IInputDesk desk) => desk.Inputs).WithName("inputs").WithSummary("Switches wired to this machine: how each is and when it was pressed last");
        app.MapGet("/health", Health).WithName("health").WithSummary("Whether scans are being taken");

        var commands = app.MapGroup("/commands").AddEndpointFilter(LoopbackOnly.CommandFilter)
            .ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status403Forbidden)
            .ProducesProblem(StatusCodes.Status409Conflict).ProducesProblem(StatusCodes.Status415UnsupportedMediaType);
        commands.MapPost("/acknowledge", (AlarmCommandBody body, ICommandDoor door, CancellationToken c) => Submit(door, new AcknowledgeAlarm(body.AlarmId, body.By), c))
            .WithSummary("An alarm was seen");
        commands.MapPost("/shelve", (ShelveBody body, ICommandDoor door, CancellationToken c) => Submit(door, new ShelveAlarm(body.AlarmId, body.Minutes, body.Reason, body.By), c))
            .WithSummary("Puts an alarm aside for 1 to 480 minutes, with a reason");
        commands.MapPost("/unshelve", (AlarmCommandBody body, ICommandDoor door, CancellationToken c) => Submit(door, new UnshelveAlarm(body.AlarmId, body.By), c))
            .WithSummary("Takes a shelved alarm back");
        commands.MapPost("/reset", (AlarmCommandBody body, ICommandDoor door, CancellationToken c) => Submit(door, new ResetAlarm(body.AlarmId, body.By), c))
            .WithSummary("Resets an alarm that is held after its condition went");
        commands.MapPost("/out-of-service", (OutOfServiceBody body, ICommandDoor door, CancellationToken c) => Submit(door, new SetOutOfService(body.AlarmId, body.OutOfService, body.Reason, body.By), c))
            .WithSummary("Takes an alarm out of service, or back");
        commands.MapPost("/presence", (NameBody body, ICommandDoor door, CancellationToken c) => Submit(door, new ConfirmPresence(body.By), c))
            .WithSummary("A person is present at the charge");
        commands.MapPost("/mark", (MarkBody body, ICommandDoor door, CancellationToken c) => Submit(door, new MarkEvent(body.Text, body.By), c))
            .WithSummary("A remark on the time line");
        commands.MapPost("/cut-off-tried", (NameBody body, ICommandDoor door, CancellationToken c) => Submit(door, new HandCutOffTried(body.By), c))
            .WithSummary("The hand cut-off was tried and the current was seen to fall to zero");
        commands.MapPost("/arm", (ArmBody body, ICommandDoor door, CancellationToken c) => Submit(door, new ArmPermit(body.Armed, body.By), c))
            .WithSummary("Arms or disarms the charge permit");
        commands.MapPost("/settings", (SettingsBody body, ICommandDoor door, CancellationToken c) => Submit(door, new ChangeSettings([.. body.Changes], body.By), c))
            .WithSummary("Writes settings into the site file; they hold from the next start of the program");
        commands.MapPost("/log-level", SwitchLog)
            .WithSummary("Switches how much the service log tells, while running");
        commands.MapPost("/simulation", Simulate)
            .WithSummary("Presses one of the simulation's controls");
    }

    private static Results<Ok<StateDocument>, ProblemHttpResult> State(ILiveView live) =>
        live.Latest is { } state ? TypedResults.Ok(StateDocument.Of(state))
        : TypedResults.Problem("No scan has been taken yet. Ask again in a second.", statusCode: StatusCodes.Status503ServiceUnavailable);

    private static Results<Ok<IReadOnlyList<AlarmDocument>>, ProblemHttpResult> Alarms(ILiveView live) =>
        live.Latest is { } state ? TypedResults.Ok<IReadOnlyList<AlarmDocument>>([.. state.Alarms.Select(StateDocument.Alarm)])
        : TypedResults.Problem("No scan has been taken yet. Ask again in a second.", statusCode: StatusCodes.Status503ServiceUnavailable);

    private static Results<Ok<string>, ProblemHttpResult> Health(ILiveView live) =>
        live.Latest is null ? TypedResults.Problem("No scan has been taken yet.", statusCode: StatusCodes.Status503ServiceUnavailable) : TypedResults.Ok("scanning");

    private static IResult SwitchLog(LogLevelBody body, ILoggerFactory loggers)
    {
        if (string.IsNullOrWhiteSpace(body.By)) return Results.Problem("Say who you are: a command carries a typed name.", statusCode: StatusCodes.Status400BadRequest);
        var log = loggers.CreateLogger(typeof(ServiceLog).FullName!);
        if (!ServiceLog.TrySwitch(body.Level))
            return Results.Problem($"There is no level '{body.Level}'{NearestName.Suggestion(body.Level, ServiceLog.Levels)} Known: {string.Join(", ", ServiceLog.Levels)}.", statusCode: StatusCodes.Status400BadRequest);
        LogSwitched(log, body.Level, body.By);
        return Results.Ok(new CommandAnswer(true, $"The service log tells {body.Level.ToLowerInvariant()} and worse from now on."));
    }

    // A warning, so that a log that was made quiet still says who did so.
    [LoggerMessage(Level = LogLevel.Warning, Message = "Service log switched to {Level} by {By}")]
    private static partial void LogSwitched(ILogger log, string level, string by);

    private static IResult Simulate(SimulationBody body, IServiceProvider services)
    {
        if (services.GetService<ISimulationStrip>() is not { } strip)
            return Results.Problem("This pack is not simulated.", statusCode: StatusCodes.Status409Conflict);
        var keys = strip.Presses.Select(press => press.Key).ToList();
        return keys.Contains(body.Key)
            ? Results.Ok(new CommandAnswer(true, strip.Trigger(body.Key)))
            : Results.Problem($"There is no '{body.Key}' here{NearestName.Suggestion(body.Key, keys)} Known: {string.Join(", ", keys)}.", statusCode: StatusCodes.Status400BadRequest);
    }

    private static async Task<IResult> Submit(ICommandDoor door, PackCommand command, CancellationToken cancellation)
    {
        var answer = await door.SubmitAsync(command, cancellation);
        return answer.Accepted ? Results.Ok(answer) : Results.Problem(answer.Message, statusCode: string.IsNullOrWhiteSpace(command.By) ? StatusCodes.Status400BadRequest : StatusCodes.Status409Conflict);
    }
}
