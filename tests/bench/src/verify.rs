pub async fn run(_: &str) -> anyhow::Result<()> {
    Ok(())
}
