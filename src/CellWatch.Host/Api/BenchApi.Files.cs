using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.Host.Api;

public static partial class BenchApi
{
    private static void MapFiles(RouteGroupBuilder reads, RouteGroupBuilder uploads)
    {
        reads.MapGet("/modules/{id}/files", (string id, BenchDoor door) => BenchAnswers.Read(door, p => p.Files.Of(CheckCharacter.Read(id)).Select(BenchAnswers.Document))).WithSummary("Photographs and files of a module, oldest first, without their content");
        reads.MapGet("/files/{sha256}", File).WithSummary("A photograph or file by its SHA-256, checked against it");
        uploads.MapPost("/modules/{id}/files", AddFile)
            .Accepts<Stream>("*/*")
            .Produces<BenchDocument<ModuleFile>>(StatusCodes.Status201Created)
            .ProducesProblem(StatusCodes.Status403Forbidden).ProducesProblem(StatusCodes.Status413PayloadTooLarge).ProducesProblem(StatusCodes.Status415UnsupportedMediaType)
            .ProducesProblem(StatusCodes.Status422UnprocessableEntity).ProducesProblem(StatusCodes.Status507InsufficientStorage)
            .WithSummary("Keeps a photograph or file of a module with its records, for good")
            .WithDescription("The body is the file, at most 16 MiB, its content type one of those a refusal lists. name: its name. by: who. caption: what it shows. about: intake, inspection, joint or thermalPicture. joint: number of the joint on the joint sheet. simulated: true where it is no photograph of a real thing.");
    }

    private static async Task<IResult> AddFile(
        HttpRequest request, string id, string? name, string? by, string? caption, string? about, int? joint, bool? simulated, BenchDoor door, IServiceProvider services, CancellationToken cancellation)
    {
        var mediaType = UploadedFile.KindOf(request);
        if (!AttachmentRules.TryKind(mediaType, out var refusal)) return Results.Problem(refusal, statusCode: StatusCodes.Status415UnsupportedMediaType);
        if (await UploadedFile.ReadAsync(request, cancellation) is not { } content) return UploadedFile.TooLarge();
        if (services.GetService<IHistory>() is { } history && await UploadedFile.NoRoomAsync(history, content.Length, cancellation) is { } noRoom) return noRoom;
        var handedIn = new ModuleFileEntry(name ?? "", mediaType, content, caption ?? "", ModuleFileAbout.Inspection, joint);
        return BenchAnswers.Enter(door, new BenchEntry<ModuleFileEntry>(by ?? "", handedIn, Simulated: simulated ?? false), (p, entry, who) =>
        {
            var belongsTo = about is null ? entry.About : BenchAnswers.Word<ModuleFileAbout>(about);
            return Results.Json(BenchAnswers.Document(p.Files.Add(CheckCharacter.Read(id), entry with { About = belongsTo }, who)), RecordJson.Options, statusCode: StatusCodes.Status201Created);
        });
    }

    private static IResult File(HttpContext context, string sha256, BenchDoor door) => BenchAnswers.Read(door, p =>
    {
        try
        {
            var (about, content) = p.Files.Read(sha256);
            // A picture opens in the browser, the rest is a download: what somebody handed in must not run as a page of this service.
            context.Response.Headers.XContentTypeOptions = "nosniff";
            context.Response.Headers.CacheControl = "private, max-age=31536000, immutable";
            return Results.File(content, about.Value.MediaType, about.Value.IsPicture ? null : about.Value.Name);
        }
        catch (InvalidDataException damaged)
        {
            return Results.Problem(damaged.Message, statusCode: StatusCodes.Status500InternalServerError);
        }
    });
}
