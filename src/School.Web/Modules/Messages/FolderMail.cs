using MimeKit;

namespace School.Web.Modules.Messages;

/// <summary>Where no mail server is set: each message becomes a file that any mail program opens. A repeat replaces its file.</summary>
internal sealed class FolderMail(string folder) : IMailTransport
{
    public async Task<MailAnswer> SendAsync(Guid id, MimeMessage letter)
    {
        try
        {
            MakeFolder();
            var file = Path.Combine(folder, $"{id}.eml");
            var unfinished = $"{file}.{Guid.NewGuid():N}.part";
            await letter.WriteToAsync(unfinished);
            File.Move(unfinished, file, overwrite: true);
            return MailAnswer.Taken;
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            return new(MailResult.NotNow, $"The mail folder cannot be written: {problem.Message}", ServerAway: true);
        }
    }

    /// <summary>Letters carry names, places and links that sign people in: nobody else on the machine reads them.</summary>
    private void MakeFolder()
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }
}
