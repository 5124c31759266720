namespace OverlayPlanner.Tests.Support;

public class SharedDataTests
{
    [Fact]
    public void The_repository_root_holds_the_solution_and_the_sources()
    {
        Assert.True(File.Exists(Repository.PathOf("OverlayPlanner.sln")));
        Assert.True(Directory.Exists(Repository.PathOf("src/OverlayPlanner.Geometry")));
    }

    [Fact]
    public void A_test_whose_reference_data_are_absent_is_skipped_with_a_reason()
    {
        Exception? thrown = null;
        try
        {
            SharedData.PathOf("no-such-folder/none.csv");
        }
        catch (Exception e)
        {
            thrown = e;
        }

        // xunit v3 marks a skip by an exception whose message begins with this token.
        Assert.NotNull(thrown);
        Assert.StartsWith("$XunitDynamicSkip$", thrown.Message, StringComparison.Ordinal);
        Assert.Contains("../shared/data/no-such-folder/none.csv", thrown.Message, StringComparison.Ordinal);
    }
}
